"""Joints that were surveyed themselves: their coordinates place them, and their stations are a check."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from laying import CRS, EAST, NORTH, codes, lines, log, pipe, place, values
from pyproj import Transformer

import asbuilt

POINTS = pipe([0, 3, 3, 0, -4, 2, 0, 1], up=0.01)


def with_coordinates(points=POINTS, places=None, **columns):
    places = points if places is None else places
    return log(points, easting=places[:, 0], northing=places[:, 1], elevation=places[:, 2], **columns)


def test_coordinates_in_the_log_place_the_joint_and_its_distance_is_its_projection():
    chance = np.random.default_rng(2)
    places = POINTS + chance.normal(0, 0.3, POINTS.shape)
    placement = place(lines(A=POINTS), with_coordinates(places=places))
    joints = placement.joints
    np.testing.assert_allclose(joints[["easting", "northing", "elevation"]], places, atol=1e-9)
    # GEOS is the reference for the projection.
    expected = shapely.line_locate_point(shapely.LineString(POINTS[:, :2]), shapely.points(places[:, :2]))
    np.testing.assert_allclose(joints["distance"], expected, atol=1e-6)
    assert set(joints["position_source"]) == {"surveyed"}
    assert joints["station"].tolist() == log(POINTS)["station"].tolist()
    assert "position-conflict" not in codes(placement)
    assert placement.counts["joints_by_position"] == {"surveyed": 10}


def test_half_a_position_is_told_by_its_row():
    places = POINTS.copy()
    places[2, 1] = places[5, 0] = np.nan
    placement = place(lines(A=POINTS), with_coordinates(places=places))
    assert placement.counts["joints_by_position"] == {"surveyed": 8, "station": 2}
    (told,) = [note.text for note in placement.notes if "an easting without a northing" in note.text]
    assert [word in told for word in ("row 3", "row 6", "row 5")] == [True, True, False]


def test_a_change_of_datum_worse_than_the_tolerance_is_told():
    degrees = Transformer.from_crs(CRS, "EPSG:4326", always_xy=True).transform(POINTS[:, 0], POINTS[:, 1])
    places = np.column_stack([*degrees, POINTS[:, 2]])
    degrees_in = {"crs": "EPSG:4326", "elevation_unit": "us-ft"}
    strict, wide = (
        place(lines(A=POINTS), with_coordinates(places=places), records={**degrees_in, **more}).notes
        for more in ({"position_tolerance": 3.0}, {"position_tolerance": 30.0})
    )
    assert any("carried over to 2 m only" in note.text for note in strict)
    assert not any("carried over to" in note.text for note in wide)
    sure = {"centerline": {"sigma_horizontal": 0.05}, "records": {**degrees_in, "position_tolerance": 30.0}}
    notes = place(lines(A=POINTS), with_coordinates(places=places), **sure).notes
    # 0.05 ft is 0.015 m.
    assert any("the survey to 0.02 m (centerline.sigma_horizontal)" in note.text for note in notes)


def test_a_change_of_datum_counts_in_the_accuracy_of_the_joints_that_came_by_it():
    degrees = Transformer.from_crs(CRS, "EPSG:4326", always_xy=True).transform(POINTS[:, 0], POINTS[:, 1])
    places = np.column_stack([*degrees, POINTS[:, 2]])
    places[3] = np.nan
    records = {"crs": "EPSG:4326", "elevation_unit": "us-ft", "position_tolerance": 30.0}
    joints = place(
        lines(A=POINTS), with_coordinates(places=places), records=records,
        centerline={"sigma_horizontal": 0.05, "sigma_vertical": 0.05},
    ).joints  # fmt: skip
    own = 2.4477 * 0.05
    # WGS 84 is known to 2 m as an ensemble (EPSG data set); a joint placed by its station did not come by it.
    carried = np.hypot(own, 2.0 * 3937 / 1200)
    came = joints["position_source"] == "surveyed"
    assert came.tolist() == [True] * 3 + [False] + [True] * 6
    np.testing.assert_allclose(joints["accuracy_horizontal"][came], carried, rtol=1e-4)
    np.testing.assert_allclose(joints["sigma_horizontal"][came], carried / 2.4477, rtol=1e-4)
    assert joints["accuracy_horizontal"][3] < 1.0
    np.testing.assert_allclose(joints["accuracy_vertical"][came], 1.96 * 0.05, rtol=1e-3)
    assert joints["accuracy_source"].str.contains(
        "a change of datum, or a shift, does to the log's coordinates"
    ).tolist() == [*came]


def test_deflection_is_that_between_the_surveyed_joints():
    # The line was shot at every third joint only; the surveyed joints show each deflection itself.
    points = pipe([2.0, 1.0, 4.0, 3.0, 2.0, 1.0, 2.0, 3.0])
    found = place(lines(A=points[::3]), with_coordinates(points)).joints
    assert found["deflection_deg"][1:-1].tolist() == pytest.approx([2, 1, 4, 3, 2, 1, 2, 3], abs=1e-4)
    assert place(lines(A=points[::3]), log(points)).joints["deflection_deg"].isna().all()


def test_the_noise_of_surveyed_joints_is_that_of_a_shot_each():
    # Independent noise s on three joints, lengths a and b: s^2 (1/a^2 + 1/b^2 + (1/a + 1/b)^2).
    noise = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
    points = pipe([2.0] * 8)
    found = place(lines(A=points[::3]), with_coordinates(points), centerline=noise).joints
    expected = np.degrees(0.02 * np.sqrt(2 / 20**2 + (2 / 20) ** 2))
    np.testing.assert_allclose(found["sigma_deg"][1:-1], expected, rtol=2e-3)
    np.testing.assert_allclose(found["sigma_horizontal"], 0.02)


def test_the_noise_of_surveyed_joints_agrees_with_repeated_surveys():
    # Joints 3, 4, 5 surveyed by themselves on a line shot at every second joint: spread of the turn at joint 4.
    points, repeats, sigma = pipe([4.0] * 8), 2000, 0.03
    noise = np.random.default_rng(5).normal(0, sigma, (repeats, 3, 3))
    rows = []
    for number, moved in enumerate(noise):
        places = np.full(points.shape, np.nan)
        places[3:6] = points[3:6] + moved
        rows.append(with_coordinates(points, places, route=f"R{number}"))
    line = lines(**{f"R{number}": points[::2] for number in range(repeats)})
    noisy = {"sigma_horizontal": sigma, "sigma_vertical": sigma}
    joints = place(line, pd.concat(rows), centerline=noisy).joints
    found = joints[joints["joint"] == "5"]
    assert found["sigma_deg"].mean() == pytest.approx(found["deflection_deg"].std(), rel=0.05)


def test_routes_may_mix_surveyed_and_stationed_joints():
    places = POINTS.copy()
    places[[0, 2, 3, 7]] = np.nan
    joints = place(lines(A=POINTS), with_coordinates(places=places)).joints
    sources = np.where(np.isnan(places[:, 0]), "station", "surveyed")
    assert joints["position_source"].tolist() == sources.tolist()
    np.testing.assert_allclose(joints[["easting", "northing", "elevation"]], POINTS, atol=0.02)
    assert joints["joint"].tolist() == [str(number) for number in range(1, 11)]


def test_a_record_without_a_station_is_placed_by_its_coordinates():
    records = with_coordinates()
    records.loc[[2, 5], "station"] = ""
    records.loc[5, "joint"] = ""
    placement = place(lines(A=POINTS), records)
    assert placement.set_aside.empty
    assert placement.joints["station"].tolist() == log(POINTS)["station"].tolist()
    assert placement.joints["joint"].tolist()[5] == "at 1+00.00"
    assert "position-conflict" not in codes(placement)


def test_a_log_of_coordinates_alone_needs_no_station_column():
    joints = place(lines(A=POINTS), with_coordinates().drop(columns="station")).joints
    assert joints["station"].tolist() == log(POINTS)["station"].tolist()
    with pytest.raises(asbuilt.JobFileError, match=r"records\.columns\.station: no column"):
        place(lines(A=POINTS), log(POINTS).drop(columns="station"))


def test_a_station_that_the_survey_contradicts_is_a_finding_and_the_survey_counts():
    records = with_coordinates()
    records.loc[4, "station"] = "1+40.00"
    placement = place(lines(A=POINTS), records)
    assert placement.joints["joint"].tolist()[4] == "5"
    assert placement.joints["station"].tolist()[4] == "0+80.00"
    (found,) = placement.findings[placement.findings["code"] == "position-conflict"].to_dict("records")
    assert found["joint"] == "5"
    assert found["value"] == pytest.approx(60, abs=0.5)
    assert found["limit"] == 5.0
    assert "from where its station 1+40.00 lies; it stands where it was surveyed, at 0+80.00" in found["message"]
    lax = place(lines(A=POINTS), records, records={"position_tolerance": 70.0})
    assert "position-conflict" not in codes(lax)
    assert lax.joints["station"].tolist()[4] == "1+40.00"


@pytest.mark.parametrize(("station", "why"), [("99+00", "station-off-route"), ("??", "station-unreadable")])
def test_a_station_that_cannot_be_used_is_a_finding_too(station, why):
    records = with_coordinates()
    records.loc[4, "station"] = station
    placement = place(lines(A=POINTS), records)
    assert placement.set_aside.empty
    message = placement.findings.set_index("code")["message"]["position-conflict"]
    assert message.startswith(f"its station {station} cannot be used ({why}); it stands where it was surveyed, at 0+80")


def test_the_logged_offset_belongs_to_the_check():
    east = POINTS + np.array([8.0, 0, 0])
    straight = pipe([0.0] * 8)
    places = straight + np.array([8.0, 0, 0])
    assert "position-conflict" in codes(place(lines(A=straight), with_coordinates(straight, places)))
    beside = place(lines(A=straight), with_coordinates(straight, places, offset="8"))
    assert "position-conflict" not in codes(beside)
    np.testing.assert_allclose(beside.joints["easting"], EAST + 8.0)
    assert len(east) == 10


def test_a_joint_away_from_the_centerline_without_a_station_is_a_finding():
    records = with_coordinates(places=POINTS + np.array([0.0, 0, 0]))
    records.loc[3, ["station", "easting"]] = ["", EAST + 40.0]
    message = place(lines(A=POINTS), records).findings.set_index("code")["message"]["position-conflict"]
    assert "from the centerline, at 0+" in message


def test_the_survey_settles_a_station_that_stands_twice():
    straight = pipe([0.0] * 9)
    records = pd.DataFrame(
        {"joint": ["a", "b"], "station": "1+00", "easting": EAST, "northing": [NORTH + 161, NORTH + 99]}
    )
    equation = {"equations": [{"route": "A", "back": "1+20", "ahead": "0+60"}]}
    placement = place(lines(A=straight), records, centerline=equation)
    assert placement.joints["station"].tolist() == ["1+00.00 BK", "1+00.00 AH"]
    assert placement.joints["joint"].tolist() == ["b", "a"]
    assert placement.inspections["station_settled_by"].tolist() == ["survey", "survey"]
    assert "position-conflict" not in codes(placement)


def test_where_a_route_comes_back_to_itself_the_station_says_which_side_is_meant():
    hairpin = np.array([(EAST, NORTH, 50), (EAST, NORTH + 500, 50), (EAST + 3, NORTH + 500, 50), (EAST + 3, NORTH, 50)])
    records = pd.DataFrame(
        {"joint": ["1", "2"], "station": ["2+00", ""], "easting": EAST + 1.6, "northing": NORTH + 200}
    )
    assert place(lines(A=hairpin), records).joints["distance"].tolist() == pytest.approx([200, 803])


def test_coordinates_in_another_system_are_those_of_proj():
    # Reference: PROJ itself, the other way round.
    to_degrees = Transformer.from_crs(CRS, "EPSG:6318", always_xy=True)
    longitude, latitude = to_degrees.transform(*POINTS.T[:2])
    records = log(POINTS, easting=longitude, northing=latitude)
    placement = place(lines(A=POINTS), records, records={"crs": "EPSG:6318"})
    np.testing.assert_allclose(placement.joints[["easting", "northing"]], POINTS[:, :2], atol=1e-5)
    assert any(note.text.startswith("coordinates of the log, from NAD83(2011)") for note in placement.notes)
    # The elevation is the centerline's where the log has none.
    np.testing.assert_allclose(placement.joints["elevation"], POINTS[:, 2], atol=1e-6)
    metres = POINTS[:, 2] * 1200 / 3937
    east, north = Transformer.from_crs(CRS, "EPSG:6339", always_xy=True).transform(*POINTS.T[:2])
    records = log(POINTS, easting=east, northing=north, elevation=metres + 1.0)
    joints = place(lines(A=POINTS), records, records={"crs": "EPSG:6339", "elevation_unit": "m"}).joints
    np.testing.assert_allclose(joints["elevation"], POINTS[:, 2] + 3937 / 1200, atol=1e-6)


@pytest.mark.parametrize(
    ("crs", "stated", "written"),
    [
        ("EPSG:6318", None, None),  # degrees: the unit is asked for
        ("EPSG:6339", None, None),  # metres beside a centerline in feet
        ("EPSG:6318", "us-ft", "us-ft"),
        ("EPSG:6318", "ft", "ft"),
        ("EPSG:6318", "m", "m"),
        ("EPSG:6319", None, "m"),  # NAD83(2011) in 3D: its vertical axis is in metres
        ("EPSG:6339", "us-ft", "us-ft"),
        (None, None, "us-ft"),
        (None, "m", "m"),
    ],
)
def test_elevations_beside_coordinates_are_in_the_unit_said_or_asked_for(crs, stated, written):
    # Exact by definition: the US survey foot is 1200/3937 m, the international foot 0.3048 m.
    factor = {"us-ft": 1.0, "ft": 1200 / 3937 / 0.3048, "m": 1200 / 3937, None: 1.0}[written]
    east, north = POINTS[:, 0], POINTS[:, 1]
    if crs is not None:
        flat = {"EPSG:6319": "EPSG:6318"}.get(crs, crs)
        east, north = Transformer.from_crs(CRS, flat, always_xy=True).transform(east, north)
    records = log(POINTS, easting=east, northing=north, elevation=POINTS[:, 2] * factor + 0.01)
    said = {"crs": crs} if crs else {}
    said |= {"elevation_unit": stated} if stated else {}
    if written is None:
        with pytest.raises(asbuilt.JobFileError, match=r"records\.elevation_unit: .* nothing says their unit"):
            place(lines(A=POINTS), records, records=said)
        # Without elevations there is nothing to ask.
        place(lines(A=POINTS), log(POINTS, easting=east, northing=north), records=said)
        return
    joints = place(lines(A=POINTS), records, records=said).joints
    np.testing.assert_allclose(joints["elevation"], POINTS[:, 2] + 0.01 / factor, atol=1e-6)


def test_coordinates_of_another_system_without_a_word_are_refused_with_the_remedy():
    east, north = Transformer.from_crs(CRS, "EPSG:6339", always_xy=True).transform(*POINTS.T[:2])
    records = log(POINTS, easting=east, northing=north)
    with pytest.raises(asbuilt.JobFileError, match=r"records\.crs: half of the surveyed joints lie .* ft or more"):
        place(lines(A=POINTS), records)
    joints = place(lines(A=POINTS), records, records={"use_coordinates": False}).joints
    assert set(joints["position_source"]) == {"station"}
    with pytest.raises(asbuilt.JobFileError, match=r"records\.crs: 'EPSG:x' is not a known coordinate system"):
        place(lines(A=POINTS), records, records={"crs": "EPSG:x"})
    # So it is where the log has no coordinates.
    with pytest.raises(asbuilt.JobFileError, match=r"records\.crs: 'EPSG:x' is not a known coordinate system"):
        place(lines(A=POINTS), log(POINTS), records={"crs": "EPSG:x"})


def test_exchanged_coordinates_of_the_log_are_named_as_that():
    records = log(POINTS, easting=POINTS[:, 1], northing=POINTS[:, 0])
    with pytest.raises(asbuilt.JobFileError, match=r"on it with easting and northing exchanged: exchange the two"):
        place(lines(A=POINTS), records)


def test_blank_and_zero_coordinates_are_no_survey():
    records = with_coordinates()
    records.loc[1, ["easting", "northing", "elevation"]] = [0, 0, 0]
    records.loc[2, "northing"] = np.nan
    joints = place(lines(A=POINTS), records).joints
    assert joints["position_source"].tolist()[:4] == ["surveyed", "station", "station", "surveyed"]


def test_the_points_of_a_layer_place_its_joints(tmp_path):
    lines(A=POINTS).to_file(tmp_path / "line.gpkg")
    shapes = gpd.points_from_xy(*POINTS.T)
    layer = gpd.GeoDataFrame(log(POINTS), geometry=shapes, crs=CRS)
    layer.loc[3, "geometry"] = None
    layer.to_crs("EPSG:6339").to_file(tmp_path / "log.gpkg", layer="joints")
    job = asbuilt.Job.from_mapping(
        values(centerline={"path": "line.gpkg"}, records={"path": "log.gpkg", "elevation_unit": "us-ft"}),
        folder=tmp_path,
    )
    joints = asbuilt.place(job).joints
    np.testing.assert_allclose(joints["elevation"], POINTS[:, 2], atol=1e-6)
    assert joints["position_source"].tolist() == ["surveyed"] * 3 + ["station"] + ["surveyed"] * 6
    np.testing.assert_allclose(joints[["easting", "northing"]], POINTS[:, :2], atol=0.02)
    multi = layer.drop(3).assign(geometry=lambda frame: [shapely.MultiPoint([one]) for one in frame.geometry])
    assert set(place(lines(A=POINTS), multi).joints["position_source"]) == {"surveyed"}


def shots_job(tmp_path, rows, records, **centerline):
    (tmp_path / "shots.csv").write_text("\n".join(["point,northing,easting,elevation,description", *rows]))
    file = {"path": str(tmp_path / "shots.csv"), "route": None, **centerline}
    return asbuilt.place(asbuilt.Job.from_mapping(values(centerline=file) | {"crs": CRS}), records=records)


def test_shots_that_carry_a_joints_number_place_it(tmp_path):
    rows = [f"{number},{n},{e},{z},WM JT {number + 1}" for number, (e, n, z) in enumerate(POINTS)]
    rows[4] = rows[4].replace("JT 5", "PIPE")
    rows.append(f"90,{POINTS[-1][1] + 5},{POINTS[-1][0]},{POINTS[-1][2]},WM jt. 99X")
    records = log(POINTS).assign(station=lambda frame: frame["station"].where(frame["joint"] != "3", ""))
    placement = shots_job(tmp_path, rows, records, joint_after="JT")
    joints = placement.joints
    assert joints["position_source"].tolist() == ["surveyed"] * 4 + ["station"] + ["surveyed"] * 5
    np.testing.assert_allclose(joints[["easting", "northing", "elevation"]], POINTS, atol=0.01)
    assert joints["deflection_deg"][2] == pytest.approx(3.0, abs=0.01)
    assert any("joint 99X on Quarry Lane is shot, but not in the log" in note.text for note in placement.notes)


def test_a_shot_joint_whose_route_is_misspelt_in_the_log_is_not_told_to_be_missing_there(tmp_path):
    """It was said not to be in the log, where it stood."""
    rows = [f"{number},{n},{e},{z},JT {number + 1}" for number, (e, n, z) in enumerate(POINTS)]
    rows.append(f"90,{POINTS[-1][1] + 5},{POINTS[-1][0]},{POINTS[-1][2]},JT 99")
    records = log(POINTS).assign(route="Quarry Lane")
    records.loc[[4, 6], "route"] = "Quary Lane"
    placement = shots_job(tmp_path, rows, records, joint_after="JT")
    notes = [note.text for note in placement.notes if "shot, but" in note.text]
    assert notes == [
        "joint 99 on Quarry Lane is shot, but not in the log",
        "joints 5, 7 on Quarry Lane are shot, but in the log with a route that is none of the job's: correct it there",
    ]
    assert placement.counts["set_aside_by_reason"] == {"route-unknown": 2}


def test_a_column_of_the_shots_may_hold_the_joints_numbers(tmp_path):
    rows = [f"{number},{n},{e},{z},{number + 1}" for number, (e, n, z) in enumerate(POINTS)]
    again = POINTS[-1] + np.array([0, 0.2, 0])
    rows.append(f"90,{again[1]},{again[0]},{again[2]},10")
    placement = shots_job(tmp_path, rows, log(POINTS), columns={"joint": "description"})
    assert set(placement.joints["position_source"]) == {"surveyed"}
    assert any("joint 10 on Quarry Lane is shot more than once" in note.text for note in placement.notes)
    assert placement.joints["northing"].iloc[-1] == pytest.approx(POINTS[-1][1])


def test_a_joint_at_its_own_shot_has_the_errors_of_that_shot(tmp_path):
    noise = {"sigma_horizontal": 0.05, "sigma_vertical": 0.05}
    rows = [f"{number},{n},{e},{z},JT {number + 1}" for number, (e, n, z) in enumerate(POINTS)]
    shot = shots_job(tmp_path, rows, log(POINTS), joint_after="JT", **noise).joints
    plain = place(lines(A=POINTS), log(POINTS), centerline=noise).joints
    np.testing.assert_allclose(shot["sigma_deg"][1:-1], plain["sigma_deg"][1:-1], rtol=1e-3)
    np.testing.assert_allclose(shot["deflection_deg"][1:-1], plain["deflection_deg"][1:-1], atol=1e-6)


def test_a_later_inspection_without_coordinates_leaves_the_joint_where_it_was_surveyed():
    records = with_coordinates(places=POINTS + np.array([0.2, 0, 0]))
    again = log(POINTS).iloc[[4]].assign(date="2026-05-05", gauge="fail")
    joints = place(lines(A=POINTS), pd.concat([again, records])).joints
    assert len(joints) == 10
    assert joints["position_source"].tolist()[4] == "surveyed"
    assert joints["easting"].tolist()[4] == pytest.approx(POINTS[4, 0] + 0.2)
    assert joints["inspection"].tolist()[4] == "failed"


cells = st.sampled_from(["0+20", "1+00", "9+00", "", "x", "0+60 BK"])
numbers = st.one_of(st.none(), st.sampled_from([0.0, EAST, EAST + 3, NORTH + 20, NORTH + 95.5, -1e9, float("nan")]))


@given(st.lists(st.tuples(cells, st.sampled_from("AZ"), numbers, numbers), min_size=1, max_size=30))
def test_every_record_is_placed_or_set_aside_whatever_coordinates_it_has(rows):
    records = pd.DataFrame(rows, columns=["station", "route", "easting", "northing"]).assign(joint="7")
    try:
        placement = place(lines(A=POINTS), records, records={"station_format": "hundreds"})
    except asbuilt.AsbuiltError as error:
        assert "could be placed" in str(error) or "records.crs" in str(error)  # noqa: PT017 - either may be
        return
    together = [*placement.inspections["record"], *placement.set_aside["record"]]
    assert sorted(together) == list(range(1, len(rows) + 1))
    assert set(placement.inspections["joint_uid"]) == set(placement.joints["joint_uid"])


def test_a_joint_number_used_at_two_places_is_shot_at_one_of_them(tmp_path):
    rows = [f"{number},{n},{e},{z},{'JT 1' if number == 0 else 'WM'}" for number, (e, n, z) in enumerate(POINTS)]
    records = log(POINTS)
    records.loc[5, "joint"] = "1"
    placement = shots_job(tmp_path, rows, records, joint_after="JT")
    assert placement.joints["position_source"].tolist() == ["surveyed", *["station"] * 9]
    np.testing.assert_allclose(placement.joints["northing"], POINTS[:, 1], atol=0.02)
    assert "joint-repeated" in codes(placement, "1")
    assert "position-conflict" not in codes(placement)


def test_shots_of_one_joint_at_several_places_place_it_at_none(tmp_path):
    names = ["JT 1", "JT 1", *["WM"] * 8]
    rows = [f"{number},{n},{e},{z},{names[number]}" for number, (e, n, z) in enumerate(POINTS)]
    placement = shots_job(tmp_path, rows, log(POINTS), joint_after="JT")
    assert set(placement.joints["position_source"]) == {"station"}
    told = "joint 1 on Quarry Lane is shot at several places, up to 20.00 ft apart; none of these shots counts"
    assert told in [note.text for note in placement.notes]


def test_shots_of_a_line_that_misses_surveyed_joints_say_nothing_of_the_joints_there():
    # The line was drawn straight through; the joints were surveyed on a bend of 6 and 6 degrees. One is not in the
    # log, so the deflection of those beside it does not show: nor may the straight line vouch for them.
    bent = pipe([0, 0, 0, 0, 6, 6, 0, 0, 0, 0])
    drawn = np.linspace(bent[0], bent[-1], 12)
    records = with_coordinates(bent).drop(index=6)
    tolerance = {"position_tolerance": 50.0}
    verdicts = place(lines(A=drawn), records, records=tolerance).joints.set_index("joint")["verdict"]
    assert verdicts[["6", "8"]].tolist() == ["cannot-tell", "cannot-tell"]
    assert verdicts[["3", "4", "10"]].tolist() == ["within-assumed"] * 3
    # A line through the joints bounds them, though the log lacks one.
    seen = place(lines(A=bent), records, records=tolerance).joints.set_index("joint")["verdict"]
    assert seen[["6", "8"]].tolist() == ["over", "within-assumed"]


def test_a_blunder_in_one_height_is_a_conflict_and_makes_no_verdict():
    places = POINTS.copy()
    places[4, 2] += 20.0
    placement = place(lines(A=POINTS), with_coordinates(places=places))
    assert codes(placement).count("position-conflict") == 1
    assert "position-conflict" in codes(placement, "5")
    verdicts = placement.joints.set_index("joint")["verdict"]
    assert verdicts[["4", "5", "6"]].tolist() == ["cannot-tell"] * 3
    message = placement.findings.query("code == 'position-conflict'").iloc[0]["message"]
    assert message == "surveyed 20 ft above the centerline, at 0+80.00"


@pytest.mark.parametrize("row", [0, 4, len(POINTS) - 1])
@pytest.mark.parametrize("blunder", [(500.0, 0.0), (0.0, -4000.0), (90.0, 90.0)])
def test_a_joint_stands_by_its_station_where_its_coordinates_are_mistyped_and_loud_words_say_so(row, blunder):
    places = POINTS.copy()
    places[row, :2] += blunder
    placement = place(lines(A=POINTS), with_coordinates(places=places))
    joint = placement.joints.iloc[row]
    assert (joint["easting"], joint["northing"]) == pytest.approx(tuple(POINTS[row, :2]), abs=0.02)
    assert joint["position_source"] == "station"
    (found,) = placement.findings[placement.findings["code"] == "position-conflict"].to_dict("records")
    assert found["joint"] == str(row + 1)
    assert found["value"] == pytest.approx(np.hypot(*blunder), abs=0.02)
    assert "mistyped, and not used" in found["message"]
    (note,) = [one for one in placement.notes if one.code == "positions-doubtful"]
    assert note.severity == "act"
    assert f"row {row + 1}: coordinates up to {np.hypot(*blunder):,.0f} ft from where the station lies" in note.text


def test_a_wrong_station_beside_right_coordinates_is_not_taken_for_mistyped_coordinates():
    records = with_coordinates()
    records.loc[4, "station"] = "1+60.00"
    placement = place(lines(A=POINTS), records)
    joint = placement.joints.set_index("joint").loc["5"]
    assert (joint["easting"], joint["northing"]) == pytest.approx(tuple(POINTS[4, :2]), abs=0.02)
    assert joint["position_source"] == "surveyed"
    assert "positions-doubtful" in [one.code for one in placement.notes]


def test_what_all_coordinates_say_is_no_slip_of_one():
    moved = np.array([60.0, 45.0, 0.0])
    placement = place(lines(A=POINTS), with_coordinates(places=POINTS + moved))
    assert set(placement.joints["position_source"]) == {"surveyed"}
    (note,) = [one.text for one in placement.notes if one.code == "positions-doubtful"]
    assert "surveyed 75 ft or so from where the station lies" in note
    assert "since the joint lies at one of these places only" in note


def own_places(each, elevation):
    """Place a main that turns up and down, shot sparsely and surveyed at each joint, with elevations as given."""
    chance = np.random.default_rng(7)
    grade = np.radians(3.0 * np.where((np.arange(50) // 10) % 2 == 0, 1.0, -1.0).cumsum() / 2.0)
    steps = 20.0 * np.stack([np.zeros(50), np.cos(grade), np.sin(grade)], axis=1)
    true = np.array([EAST, NORTH, 50.0]) + np.concatenate([np.zeros((1, 3)), np.cumsum(steps, axis=0)])
    shot, own = (true + chance.normal(0.0, 0.02, true.shape) for _ in range(2))
    places = zip(("easting", "northing", "elevation"), [*own.T[:2].round(3), elevation(own[:, 2])], strict=True)
    rows = log(true, **dict(places))
    stated = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
    placement = place(
        lines(A=shot[::each]), rows, centerline=stated, records={"elevation_unit": "us-ft"},
        limits={"table": "awwa-c600", "fraction": 0.29},
    )  # fmt: skip
    return placement, np.abs(placement.joints["elevation"] - true[:, 2])


def test_a_joint_surveyed_in_plan_alone_is_no_surer_in_height_than_the_line_and_within_only_if_it_lies_level():
    # Joints turn 1.5 degrees up or down, and 1.45 are allowed.
    placement, off = own_places(5, lambda height: np.full(len(height), np.nan))
    joints = placement.joints
    assert np.mean(off > 0.04) > 0.5
    assert np.mean(off > joints["accuracy_vertical"]) < 0.08
    assert joints["accuracy_source"].str.contains("the elevation by that of the line between shots").any()
    assert not (joints["verdict"] == "within").any()
    own, off = own_places(5, lambda height: height.round(3))
    assert own.joints["accuracy_vertical"].to_numpy() == pytest.approx(1.96 * 0.02)
    assert (own.joints["accuracy_source"] == "the job's standard errors of shots").all()


@pytest.mark.parametrize(("decimals", "sigma", "told"), [(0, 0.289, True), (1, 0.0289, True), (3, 0.0, False)])
def test_elevations_of_the_log_that_were_rounded_are_no_surer_than_that(decimals, sigma, told):
    placement, off = own_places(5, lambda height: height.round(decimals))
    stated = placement.joints["accuracy_vertical"]
    assert stated.to_numpy() == pytest.approx(1.96 * np.hypot(0.02, sigma), rel=0.01)
    assert np.mean(off > stated) < 0.12
    notes = [note.text for note in placement.notes if "in the log are rounded to" in note.text]
    assert len(notes) == told
    if told:
        assert f"51 joints of route 'A' in the log are rounded to {['1', '0.1'][decimals]} ft" in notes[0]


def test_no_bound_and_no_error_of_a_deflection_is_more_than_half_a_turn():
    """Coordinates 350 ft off in the log made "between 0 and 1727.72 deg", and "1.00 ± 1082.29 deg" on the page."""
    chance = np.random.default_rng(4)
    points = pipe(chance.uniform(-1.0, 1.0, 38))
    places = points + chance.normal(0.0, 350.0, 3) * [1.0, 1.0, 0.0]
    stated = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
    placement = place(lines(A=points), with_coordinates(points, places), centerline=stated)
    assert (placement.joints["verdict"] == "cannot-tell").sum() > 30
    told = placement.findings.query("code == 'deflection-unclear'")
    numbers = told["message"].str.extractall(r"([\d.]+) deg")[0].astype(float)
    for angles in (numbers, told["value"], placement.joints["sigma_deg"], placement.joints["deflection_ceiling_deg"]):
        assert angles.dropna().le(180.0).all()
    assert numbers.max() == 180.0
