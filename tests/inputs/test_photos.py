"""Photos that a log names: found in the job's folders, checked to be there, and shown; missing ones are told."""

import pytest
from laying import TODAY, codes, lines, log, pipe, values

import asbuilt

POINTS = pipe([0.0] * 9)


@pytest.fixture
def folder(tmp_path):
    """Give a folder of a job with photos, one of them in a folder within, and one name twice."""
    for name in ("IMG_1.JPG", "day 2/img_2.png", "day 2/twice.jpg", "day 3/twice.jpg", "notes.txt"):
        path = tmp_path / "photos" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"picture")
    return tmp_path


def placed(folder, said, **records):
    job = asbuilt.Job.from_mapping(values(records={"photos": ["photos"], **records}), folder=folder)
    photo = [said.get(at, "") for at in range(11)]
    return asbuilt.place(job, centerline=lines(A=POINTS), records=log(POINTS, photo=photo), today=TODAY)


def test_photos_are_found_by_name_with_or_without_ending_and_in_any_letters(folder):
    placement = placed(folder, {2: "img_1.jpg; IMG_2", 3: "photos\\IMG_1.JPG"})
    found = placement.inspections["photo_files"]
    assert found[2] == "photos/IMG_1.JPG; photos/day 2/img_2.png"
    assert found[3] == "photos/IMG_1.JPG"
    assert all((folder / one).is_file() for one in found[2].split("; "))
    assert codes(placement) == []


def test_photos_that_are_not_there_are_told_at_their_joint(folder):
    placement = placed(folder, {2: "IMG_1, IMG_7", 4: "notes.txt", 5: "twice"})
    told = placement.findings[placement.findings["code"] == "photo-missing"].set_index("joint")["message"]
    assert told.to_dict() == {
        "3": "not found among the photos: IMG_7", "5": "not found among the photos: notes.txt",
        "6": "not found among the photos: twice (is there 2 times)",
    }  # fmt: skip
    assert placement.inspections["photo_files"][2] == "photos/IMG_1.JPG"


def test_a_job_that_names_no_folder_asks_for_no_photo(folder):
    placement = placed(folder, {2: "IMG_7"}, photos=[])
    assert codes(placement) == []
    assert placement.inspections["photo"][2] == "IMG_7"


def test_a_folder_that_is_not_there_is_named(folder):
    with pytest.raises(asbuilt.JobFileError, match=r"records\.photos: .*pictures is no folder"):
        placed(folder, {}, photos=["pictures"])


def test_the_review_links_the_photos_that_were_found(folder):
    from asbuilt.review import read_review
    from asbuilt.review.at_joint import album

    placed(folder, {2: "IMG_1; IMG_2"}).write(folder / "joints.gpkg")
    review = read_review(folder / "joints.gpkg")
    (one,) = album(review, review.routes[0], embed=False).joints
    assert (one.joint, [photo.name for photo in one.photos]) == ("3", ["IMG_1.JPG", "img_2.png"])
    assert all(photo.address is not None and photo.address.startswith("file://") for photo in one.photos)


def test_the_register_names_the_files_that_were_found(folder):
    placed(folder, {2: "IMG_1; IMG_2"}).write(folder / "joints.gpkg")
    asbuilt.load(folder / "joints.gpkg", str(folder / "register.gpkg"))
    (joint,) = asbuilt.find(str(folder / "register.gpkg"), asbuilt.Question(joints=["3"])).joints
    assert joint["photos"] == ["IMG_1.JPG", "img_2.png"]
