"""Photos and readings at the joint: shown where they are, listed where they are not, and nothing else is opened."""

import base64
import io
import re
from pathlib import Path

import laying
import numpy as np
import pytest
from PIL import Image

from asbuilt import Job, cli, place
from asbuilt.review import at_joint, read_review, write_review

POINTS = laying.pipe([0.0, 0.0, 7.0, 0.0])


def photo(path, size=(1600, 1200), color="teal", **more):
    path.parent.mkdir(exist_ok=True)
    Image.new("RGB", size, color).save(path, **more)


def placed(folder, photos, **columns):
    """Place a job in a folder whose log names photos, and that turns 7 degrees at joint 4."""
    log = laying.log(POINTS, photo=photos, **columns)
    job = Job.from_mapping(laying.values(records={"photos": ["photos"]}), folder=folder)
    place(job, centerline=laying.lines(A=POINTS), records=log, today=laying.TODAY).write(folder / "placed.gpkg")
    return folder / "placed.gpkg"


def pictures(page):
    """Give the photos in a page by name, opened."""
    found = re.findall(r'<img src="data:image/jpeg;base64,([^"]+)" alt="Photo ([^"]+) of joint', page)
    return {name: Image.open(io.BytesIO(base64.b64decode(data))) for data, name in found}


@pytest.fixture
def folder(tmp_path):
    turned = Image.Exif()
    turned[0x0112], turned[0x010F] = 6, "a camera"  # Orientation: turned by a quarter; and who made the camera.
    photo(tmp_path / "photos" / "one.jpg", exif=turned)
    photo(tmp_path / "photos" / "two.png", size=(300, 200), color="orange")
    (tmp_path / "photos" / "three.heic").write_bytes(b"not for this reader")
    (tmp_path / "photos" / "four.jpg").write_bytes(b"\xff\xd8\xff damaged")
    return tmp_path


def test_photos_are_scaled_down_into_the_page_upright_and_without_what_a_camera_adds(folder):
    path = placed(folder, ["one.jpg", "", "three.heic", "two; four", "lost.jpg", ""])
    written = write_review(path, folder / "out", photos="embed")
    page = (folder / "out" / "route-A.html").read_text("utf-8")
    seen = pictures(page)
    # A quarter turn makes a picture of 1600 by 1200 stand upright: 480 by 640. A small one is not made larger.
    assert {name: one.size for name, one in seen.items()} == {"one.jpg": (480, 640), "two.png": (300, 200)}
    assert not dict(seen["one.jpg"].getexif())
    np.testing.assert_allclose(seen["two.png"].convert("RGB").getpixel((150, 100)), (255, 165, 0), atol=6)
    assert page.count("no picture that can be shown here") == 2
    assert written["routes"][0]["photos_shown"] == 2
    assert written["routes"][0]["photos_linked"] == 2
    assert written["routes"][0]["photos_missing"] == 1
    (missing,) = re.findall(r'<figure[^>]* id="photos-missing">.*?</figure>', page, re.S)
    assert "lost.jpg" in missing


def test_photos_are_linked_unless_they_are_asked_for(folder):
    path = placed(folder, ["one.jpg", "", "", "two", "", ""])
    write_review(path, folder / "out")
    page = (folder / "out" / "route-A.html").read_text("utf-8")
    assert not pictures(page)
    for name in ("one.jpg", "two.png"):
        assert f'href="{(folder / "photos" / name).resolve().as_uri()}">{name}</a>' in page
    assert "What is missing" not in page


def test_a_photo_that_is_gone_since_is_listed_and_so_is_one_of_a_file_that_stands_elsewhere(folder, capsys):
    path = placed(folder, ["one.jpg", "", "", "two", "", ""])
    elsewhere = folder / "elsewhere"
    elsewhere.mkdir()
    path = path.rename(elsewhere / path.name)
    (route,) = write_review(path, folder / "out", photos="embed")["routes"]
    assert (route["photos_shown"], route["photos_missing"]) == (0, 2)
    assert "name that folder with --photo-folder" in (folder / "out" / "route-A.html").read_text("utf-8")
    (folder / "photos" / "two.png").unlink()
    told = ["review", str(path), "--out", str(folder / "out"), "--photos", "embed", "--photo-folder"]
    assert cli.run([*told, str(folder)]) == 0
    assert "Photos: 1 in the pages, 0 linked, 1 missing" in capsys.readouterr().out
    assert "two.png: no longer where it was found" in (folder / "out" / "route-A.html").read_text("utf-8")
    assert cli.run([*told, str(folder / "photos" / "one.jpg")]) == 2
    assert "is no folder; name the job's folder" in capsys.readouterr().err


def test_a_full_page_keeps_the_joints_to_look_at_and_says_what_it_links(folder, monkeypatch):
    path = placed(folder, ["one.jpg", "", "", "two", "", ""])
    review = read_review(path)
    one, two = (len(at_joint.scaled_down(folder / "photos" / name)) for name in ("one.jpg", "two.png"))
    monkeypatch.setattr(at_joint, "MOST_BYTES", max(one, two))
    found = at_joint.album(review, review.routes[0], embed=True)
    # Joint 4 is over, so its photo comes first and stays.
    assert [(one.joint, one.photos[0].picture is not None, one.photos[0].why) for one in found.joints] == [
        ("4", True, ""), ("1", False, "linked, since the page is full"),
    ]  # fmt: skip


def test_a_picture_that_claims_to_be_huge_is_not_opened(tmp_path, monkeypatch):
    photo(tmp_path / "wide.png", size=(400, 300))
    assert at_joint.scaled_down(tmp_path / "wide.png") is not None
    monkeypatch.setattr(at_joint, "_MOST_PIXELS", 400 * 300 - 1)
    assert at_joint.scaled_down(tmp_path / "wide.png") is None
    assert at_joint.scaled_down(Path(__file__)) is None


def test_a_log_whose_photos_no_folder_was_named_for_says_so(tmp_path):
    log = laying.log(POINTS, photo=["IMG 1", "", "", "", "", "IMG 2"])
    laying.place(laying.lines(A=POINTS), log).write(tmp_path / "placed.gpkg")
    write_review(tmp_path / "placed.gpkg", tmp_path / "out")
    page = (tmp_path / "out" / "route-A.html").read_text("utf-8")
    assert "2 records of the log name photos; the job names no folder of them (records.photos)" in page


def test_readings_stand_at_the_joint_with_the_deflection_that_they_come_to(tmp_path):
    # Closed form: gaps of 1 in + 6.6 in tan(2 deg) cos(phi) on a pipe of 13.20 in outside diameter (AWWA C151, from
    # memory): widest at the top, so the pipe ahead turns down. Joint 4 is pushed home so far, and the others otherwise.
    widest, home = 6.6 * np.tan(np.radians(2.0)), np.array([1.05, 1.1, 1.15, 1.0, 1.2, 1.25])
    gaps = {"gap 12": home + widest, "gap 3": home, "gap 6": home - widest, "gap 9": home}
    log = laying.log(POINTS, **{name: [f"{one:.2f}" for one in read] for name, read in gaps.items()})
    sure = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
    laying.place(laying.lines(A=POINTS), log, centerline=sure).write(tmp_path / "placed.gpkg")
    (route,) = read_review(tmp_path / "placed.gpkg").routes
    told = at_joint.readings_words(route, "in")
    assert told["Gap, in"][3] == "1.23 at 12, 1 at 3, 0.77 at 6, 1 at 9"
    assert len(set(told["Gap, in"])) == 6
    table = at_joint.readings_table(route, "in")
    # The survey shows 7 degrees at joint 4: a contradiction to look at.
    (odd,) = (row for row in table.rows if row[1] == "4")
    assert odd[2:] == ["1.23 at 12, 1 at 3, 0.77 at 6, 1 at 9", "1 in", "2.00 deg, toward 6 o'clock"]
