"""The checks: each finds what it should, and nothing where the log is in order."""

import numpy as np
import pandas as pd
import pytest
from laying import codes, lines, log, pipe, place

from asbuilt.errors import JobFileError
from asbuilt.judging import findings
from asbuilt.schema import DOMAINS

STRAIGHT = pipe([0.0] * 9)


def placed(log, points=STRAIGHT, **tables):
    return place(lines(A=points), log, **tables)


def with_cell(column, value, row=4):
    records = log(STRAIGHT, **{column: None} if column not in log(STRAIGHT) else {})
    records[column] = records[column].astype(object)
    records.loc[row, column] = value
    return records


def test_a_log_in_order_has_no_findings():
    placement = placed(log(STRAIGHT))
    assert codes(placement) == []
    assert placement.joints["verdict"].value_counts().to_dict() == {"within-assumed": 9, "not-computed": 2}
    assert set(placement.joints["inspection"]) == {"complete"}


def test_deflection_over_the_allowable():
    points = pipe([0, 0, 4.9, 0, 5.2, 0])
    placement = placed(log(points), points)
    assert codes(placement) == ["deflection-over"]
    found = placement.findings.iloc[0]
    assert (found["joint"], found["severity"]) == ("6", "act")
    # Stations of the log are to the hundredth of a foot, so the joints lie a little off the vertices.
    assert found["value"] == pytest.approx(5.2, abs=0.01)
    assert found["limit"] == 5.0
    assert found["basis"].startswith("AWWA C600")
    assert found["message"] == (
        "deflection 5.2 deg is over the allowable 5 deg; this rests on more than was measured: no standard error of "
        "the shots is stated, and they are taken as without error"
    )


def test_a_fraction_of_the_table_is_what_the_job_allows():
    points = pipe([0, 0, 4.9, 0])
    placement = placed(log(points), points, limits={"table": "awwa-c600", "fraction": 0.8})
    assert codes(placement) == ["deflection-over"]
    assert placement.findings["limit"].tolist() == [4.0]


def test_a_bend_takes_its_angle_and_its_two_joints_share_the_rest():
    points = pipe([0, 0, 47.0, 0])
    records = log(points)
    records["kind"] = ["pipe"] * 3 + ["45 bend"] + ["pipe"] * 2
    joint = placed(records, points).joints.iloc[3]
    assert joint["bend_angle_deg"] == 45.0
    assert joint["turn_deg"] == pytest.approx(47.0, abs=0.02)
    assert joint["deflection_floor_deg"] == pytest.approx(1.0, abs=0.02)
    assert joint["verdict"] == "within-assumed"


@pytest.mark.parametrize("family", ["restrained-push-on", "Ball"])
def test_a_family_without_a_row_has_no_allowable(family):
    placement = placed(with_cell("joint type", family))
    assert codes(placement) == ["allowable-missing"]
    assert placement.joints["verdict"].tolist()[4] == "no-allowable"
    assert "12 in; bring it from the approved submittal" in placement.findings["message"][0]


def test_a_push_on_joint_recorded_as_restrained_is_not_judged_by_the_unrestrained_row():
    assert codes(placed(with_cell("restrained", "Y"))) == ["allowable-missing"]


def test_a_makers_restrained_joint_whose_row_is_not_named_so_is_told_what_to_name_it(tmp_path):
    """The submittal was in the job, and the message was to bring it: the remedy it names must work."""
    own, row = tmp_path / "own.csv", "{},12,3,submittal 12\n"
    own.write_text("joint_type,size,allowable_deg,source\n" + row.format("Grip"))
    records = with_cell("joint type", "Grip")
    records["restrained"] = ["no"] * 4 + ["yes"] + ["no"] * (len(records) - 5)
    placement = placed(records, limits={"table": "awwa-c600", "project": str(own)})
    assert codes(placement) == ["allowable-missing"]
    assert placement.findings["message"][0] == (
        "no allowable on file for restrained-grip, 12 in; a row is there of grip, for joints that are not recorded as "
        "restrained: if it is that of the restrained joint, name its type restrained-grip; else bring it from the "
        "approved submittal"
    )
    own.write_text("joint_type,size,allowable_deg,source\n" + row.format("restrained-grip"))
    placement = placed(records, limits={"table": "awwa-c600", "project": str(own)})
    assert codes(placement) == []
    assert placement.joints["allowable_deg"][4] == 3.0


@pytest.mark.parametrize(
    ("column", "words"), [("inspector", "inspector"), ("date", "inspection date"), ("gauge", "gauge")]
)
def test_a_required_field_left_blank(column, words):
    placement = placed(with_cell(column, ""))
    assert codes(placement) == ["inspection-missing"]
    assert placement.findings["message"][0] == f"not recorded: {words}"
    assert placement.joints["inspection"].tolist()[4] == "incomplete"


def test_an_unreadable_required_field_is_missing_and_said_to_be_unreadable():
    placement = placed(with_cell("gauge", "x"))
    assert codes(placement) == ["field-unreadable", "inspection-missing"]
    assert "gauge: 'x' cannot be read" in " ".join(placement.findings["message"])


def test_what_is_required_depends_on_the_family():
    records = with_cell("joint type", "MJ")
    records["torque"] = None
    placement = placed(records)
    assert placement.findings["message"].tolist() == ["not recorded: bolt torque"]
    own = {"required": ["inspector"], "required_for": {"mechanical": ["crew"]}}
    assert placed(records, inspection=own).findings["message"].tolist() == ["not recorded: crew"]


@pytest.mark.parametrize("text", ["no", "N", "fail", "0"])
def test_a_check_that_did_not_pass(text):
    placement = placed(with_cell("home to mark", text))
    assert codes(placement) == ["inspection-failed"]
    assert placement.findings["message"][0] == "did not pass: insertion mark"
    assert placement.joints["inspection"].tolist()[4] == "failed"


def test_a_joint_with_no_evidence_at_all_has_no_inspection():
    records = log(STRAIGHT)
    records.loc[4, ["inspector", "date", "home to mark", "gauge", "gasket temp"]] = ""
    assert placed(records).joints["inspection"].tolist()[4] == "none"


def test_a_cold_gasket_is_told_in_the_unit_of_the_log():
    # 40 F is 4.4 C, and 3 C is 37.4 F.
    records = log(STRAIGHT, **{"gasket temp": "20"})
    records.loc[4, "gasket temp"] = "3"
    found = placed(records, records={"temperature_unit": "C"}).findings
    assert found["message"].tolist() == ["gasket at 3 C when fitted, under 4.4 C: warm it before fitting"]
    assert found[["value", "limit", "unit"]].to_numpy().tolist() == [[pytest.approx(3.0), 4.4, "C"]]


def test_a_gasket_fitted_cold():
    # 40 F in cold weather: common practice, no source.
    placement = placed(with_cell("gasket temp", "34"))
    assert codes(placement) == ["gasket-cold"]
    assert placement.findings[["value", "limit", "unit"]].values.tolist() == [[34.0, 40.0, "F"]]
    assert codes(placed(with_cell("gasket temp", "40"))) == []


@pytest.mark.parametrize(
    ("size", "torque", "unit", "off"),
    [
        ("3", "60", "ft-lb", False), ("3", "61", "ft-lb", True), ("8", "75", "ft-lb", False),
        ("8", "74", "ft-lb", True),
        ("24", "90", "ft-lb", False), ("30", "99", "ft-lb", True), ("36", "120", "ft-lb", False),
        ("48", "150", "ft-lb", False), ("42", "151", "ft-lb", True), ("8", "110", "N-m", False),
        ("8", "125", "N-m", True),
    ],
)  # fmt: skip
def test_bolt_torque_outside_the_range_of_its_bolts(size, torque, unit, off):
    # AWWA C600/C111, bolt torques of mechanical joints by size (from memory): 5/8 in 45-60 ft-lb, 3/4 in 75-90,
    # 1 in 100-120, 1 1/4 in 120-150. 1 ft-lb = 1.35582 N m.
    records = with_cell("joint type", "mechanical")
    records.loc[4, "size"] = size
    records["torque"] = pd.Series([None] * 4 + [torque] + [None] * 6)
    placement = placed(records, records={"torque_unit": unit})
    assert ("torque-off" in codes(placement)) is off


def test_stations_of_a_stated_error_are_no_missing_joints():
    stations = [f"0+{at:05.2f}" for at in (0, 20, 42, 60, 80)]
    records = log(STRAIGHT[:5], station=stations)
    assert "joints-missing" in codes(placed(records, STRAIGHT))
    # The two ends of a straight are off by 1.4 sigma against one another: 2 ft lie within 1.645 x 1.4 ft.
    found = place(lines(A=STRAIGHT), records, records={"sigma_station": 1.0, "spacing_tolerance": 0.5})
    assert "joints-missing" not in codes(found)


def test_joints_missing_from_the_log_are_counted_between_their_stations():
    placement = placed(log(STRAIGHT).drop(index=[4, 5, 6]))
    assert codes(placement) == ["joints-missing"]
    message = placement.findings["message"][0]
    assert message.startswith("at least 3 joints are missing between 0+60.00 and 1+40.00: 80 ft apart")


def test_a_recorded_length_counts_before_the_nominal_one():
    assert codes(placed(log(STRAIGHT, **{"laid length": "19.0"}))) == ["joints-missing"] * 10
    assert codes(placed(log(STRAIGHT, **{"laid length": "20.1"}))) == []


def test_a_spacing_too_short_for_any_cut_recorded():
    points = STRAIGHT.copy()
    points[5:] -= (0, 8, 0)
    # Shot anywhere, so that no joint lies off a shot of its own.
    line, beside = pipe([0.0] * 9), {"shots_at_joints": False}
    placement = placed(log(points), line, centerline=beside)
    assert codes(placement) == ["spacing-short"]
    assert "12 ft from 0+80.00 to 0+92.00, with no cut or fitting recorded" in placement.findings["message"][0]
    cut = log(points)
    cut["cut"] = ["no"] * 4 + ["yes"] + ["no"] * 6
    assert codes(placed(cut, line, centerline=beside)) == []


def test_the_pipe_may_lie_back_of_its_joint():
    points = STRAIGHT.copy()
    points[5:] -= (0, 8, 0)
    cut = log(points)
    cut["cut"] = ["no"] * 5 + ["yes"] + ["no"] * 5
    beside = {"shots_at_joints": False}
    assert codes(placed(cut, centerline=beside)) == ["spacing-short"]
    assert codes(placed(cut, centerline=beside, records={"pipe": "back"})) == []


def test_a_joint_number_recorded_twice():
    again = pd.concat([log(STRAIGHT), log(STRAIGHT).iloc[[4]]])
    assert codes(placed(again)) == ["joint-repeated"]
    elsewhere = log(STRAIGHT)
    elsewhere.loc[7, "joint"] = "3"
    placement = placed(elsewhere)
    assert codes(placement).count("joint-repeated") == 2
    assert "used at 2 places" in placement.findings.query("code == 'joint-repeated'")["message"].iloc[0]


@pytest.mark.parametrize("first", ["yes", "no"])
def test_two_records_of_a_joint_of_one_day_that_contradict_each_other_are_told_so(first):
    again = pd.concat([log(STRAIGHT), log(STRAIGHT).iloc[[4]]], ignore_index=True)
    again["home to mark"] = ["yes"] * 4 + [first] + ["yes"] * 6 + ["no" if first == "yes" else "yes"]
    (message,) = placed(again).findings.query("code == 'joint-repeated'")["message"]
    assert "of one day some passed and some did not (insertion_mark)" in message
    again.loc[11, "date"] = "2026-05-02"
    (message,) = placed(again).findings.query("code == 'joint-repeated'")["message"]
    assert "some did not" not in message


def test_joint_numbers_out_of_order_against_stations():
    records = log(STRAIGHT)
    records.loc[[3, 8], "joint"] = ["9", "4"]
    placement = placed(records)
    assert placement.findings.query("code == 'order-broken'")["joint"].tolist() == ["9", "4"]


def test_a_crew_that_lays_against_the_stations_numbers_downwards():
    records = log(STRAIGHT)
    records["joint"] = [str(number) for number in range(11, 0, -1)]
    assert codes(placed(records)) == []


@pytest.mark.parametrize(
    ("date", "words"), [("2062-04-02", "after 2026-07-01"), ("2026-02-01", "before the work began on 2026-03-02")]
)
def test_a_date_before_the_pipe_was_there_or_in_the_future(date, words):
    placement = placed(with_cell("date", date), inspection={"laid_from": "2026-03-02"})
    assert codes(placement) == ["date-doubtful"]
    assert placement.findings["message"][0] == f"inspected on {date}, {words}"


def test_a_record_dated_in_the_future_hides_no_later_inspection():
    records = log(STRAIGHT)
    again = records.loc[[4]].assign(date="2026-05-06", gauge="no")
    mistyped = records.assign(date=lambda them: them["date"].where(them.index != 4, "2062-04-02"))
    placement = placed(pd.concat([mistyped, again], ignore_index=True))
    joint = placement.joints.iloc[4]
    assert (str(joint["inspected_on"]), joint["inspection"]) == ("2026-05-06", "failed")
    (said,) = placement.findings.query("code == 'date-doubtful'")["message"]
    assert said == "a record of it is dated 2062-04-02, after 2026-07-01: it is not taken for the latest"
    # A mistyped date alone is kept, and doubted.
    alone = placed(mistyped)
    assert str(alone.joints.iloc[4]["inspected_on"]) == "2062-04-02"
    assert codes(alone) == ["date-doubtful"]


def test_a_survey_of_a_day_to_come_is_refused_and_one_of_today_is_kept():
    with pytest.raises(JobFileError, match="surveyed_on: 2026-07-02 is later than today"):
        placed(log(STRAIGHT), centerline={"surveyed_on": "2026-07-02"})
    assert codes(placed(log(STRAIGHT), centerline={"surveyed_on": "2026-07-01"})) == []


def test_findings_stand_at_their_joints_and_are_counted_there():
    placement = placed(with_cell("gasket temp", "34"))
    joint, found = placement.joints.iloc[4], placement.findings.iloc[0]
    assert found["joint_uid"] == joint["joint_uid"]
    assert found.geometry.equals(joint.geometry)
    assert placement.joints["findings"].tolist() == [0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0]


def test_every_check_has_a_code_and_severity_of_the_output_schema():
    for check in findings.CHECKS:
        assert check.code in DOMAINS["finding_code"]
        assert check.severity in DOMAINS["severity"]
    assert len({check.code for check in findings.CHECKS}) == len(findings.CHECKS)


def test_the_pieces_after_a_recorded_short_one_are_whole_lengths():
    # 40 ft after a piece of 5: the other 35 need two lengths more, so two joints are missing.
    records = log(STRAIGHT).drop(index=[4])
    records["laid length"] = ["20", "20", "20", "5", *["20"] * 6]
    (message,) = placed(records).findings.query("code == 'joints-missing'")["message"]
    assert message.startswith("at least 2 joints are missing between 0+60.00 and 1+00.00")


@pytest.mark.parametrize("kind", ["45 MJ bend", "1/8 bend", '12" 45 bend', "45 ell"])
def test_a_bend_is_known_by_the_words_of_the_trade(kind):
    points = pipe([0, 0, 45.0, 0])
    records = log(points)
    records["kind"] = ["pipe"] * 3 + [kind] + ["pipe"] * 2
    assert placed(records, points).joints["bend_angle_deg"].tolist()[3] == 45.0


def test_an_angle_with_nothing_said_of_what_was_laid_is_a_bends():
    points = pipe([0, 0, 22.5, 0])
    records = log(points, **{"bend angle": [None] * 3 + ["22.5"] + [None] * 2})
    assert placed(records, points).joints["verdict"].tolist()[3] == "within-assumed"


def test_a_bend_without_its_angle_is_not_judged_but_named():
    points = pipe([0, 0, 45.0, 0])
    records = log(points)
    records["kind"] = ["pipe"] * 3 + ["bend"] + ["pipe"] * 2
    placement = placed(records, points)
    assert placement.joints["verdict"].tolist()[3] == "not-computed"
    assert codes(placement, "4") == ["bend-angle-missing"]


def test_a_restrained_mechanical_joint_needs_what_a_mechanical_one_needs():
    records = with_cell("joint type", "MJ")
    records["restrained"] = [None] * 4 + ["yes"] + [None] * 6
    assert "not recorded: bolt torque" in placed(records).findings["message"].tolist()


def test_families_match_however_they_are_written(tmp_path):
    (tmp_path / "own.csv").write_text(
        "joint_type,size,allowable_deg,source\nPush On,12,4,Submittal 14\nTR-X,12,3,Submittal 14\n"
    )
    records = with_cell("joint type", "Tr-X")
    records["joint type"] = ["Tr-X" if cell == "Tr-X" else "PUSH-ON" for cell in records["joint type"]]
    placement = placed(
        records, limits={"table": str(tmp_path / "own.csv")}, inspection={"required_for": {"Push On": []}}
    )
    assert placement.joints["allowable_deg"].tolist()[3:5] == [4.0, 3.0]


def test_an_unreadable_cell_of_a_superseded_record_is_still_named():
    again = log(STRAIGHT).iloc[[4]].assign(date="2026-04-09")
    first = with_cell("date", "??")
    assert "inspected_on: '??' cannot be read" in " ".join(placed(pd.concat([first, again])).findings["message"])


def test_a_laid_length_that_is_not_positive_is_unreadable():
    assert codes(placed(log(STRAIGHT, **{"laid length": ["-20", *["20"] * 10]}))) == ["field-unreadable"]


@pytest.mark.parametrize(
    ("sizes", "kinds", "found"),
    [
        (["12"] * 10, ["pipe"] * 10, []),
        (["12"] * 5 + ["16"] * 5, ["pipe"] * 10, ["6"]),
        (["12"] * 4 + ["16"] + ["12"] * 5, ["pipe"] * 10, ["5", "6"]),
        (["12"] * 5 + ["16"] * 5, ["pipe"] * 5 + ["reducer"] + ["pipe"] * 4, []),
        (["12"] * 5 + [None] + ["16"] * 4, ["pipe"] * 5 + ["reducer"] + ["pipe"] * 4, []),
        (["12"] * 5 + [None] + ["16"] * 4, ["pipe"] * 10, ["7"]),
        (["12"] * 5 + ["16"] * 5, ["pipe"] * 4 + ["tee"] + ["pipe"] * 5, []),
    ],
)
def test_a_size_that_changes_without_a_reducer_is_asked_about(sizes, kinds, found):
    """A slip of the pen in the size gives a joint another allowable; common practice, no source."""
    points = pipe([0.0] * 8)
    placement = placed(log(points, size=sizes, kind=kinds), points)
    assert placement.findings.query("code == 'size-changes'")["joint"].tolist() == found


def test_what_an_entry_is_held_against_is_what_most_joints_say():
    records = log(STRAIGHT)
    records["laid length"] = "20.0"
    records.loc[4, "laid length"] = "2.0"
    found = placed(records).findings.query("code == 'entry-doubtful'")
    assert found[["joint", "value", "limit", "unit"]].to_numpy().tolist() == [["5", 2.0, 20.0, "ft"]]
    assert "as if its decimal point had slipped" in found["message"].item()
    missing = placed(records).findings.query("code == 'joints-missing'")["message"].item()
    assert missing.endswith("or else the laid length is wrong, since a whole length fits there")
    # A piece that was cut, a fitting, and a length that the stations have too, are what they are.
    for column, value in (("cut", "yes"), ("kind", "tee")):
        assert "entry-doubtful" not in codes(placed(records.assign(**{column: [""] * 4 + [value] + [""] * 6})))
    shorter = STRAIGHT.copy()
    shorter[5:] -= (0, 18, 0)
    short = log(shorter).assign(**{"laid length": records["laid length"]})
    assert codes(placed(short, shorter)) == []


def half_pipe(at=5, *, back=True, **columns):
    """Lay pipes, one of them about half as long, and log its length in the row of the joint behind or ahead of it."""
    points = STRAIGHT.copy()
    points[at + 1 :] -= (0, 10.37, 0)
    row = at + 1 if back else at
    records = log(points).assign(**{"laid length": [""] * row + ["9.63"] + [""] * (10 - row)}, **columns)
    return records, points


@pytest.mark.parametrize("kind", ["pipe", "tee"])
def test_a_half_pipe_logged_at_its_other_end_leaves_no_joint_missing(kind):
    kinds = {"kind": ["pipe"] * 5 + [kind] + ["pipe"] * 5}
    found = placed(*half_pipe(**kinds)).findings.query("code in ('joints-missing', 'spacing-short')")
    assert found[["code", "joint"]].to_numpy().tolist() == [["spacing-short", "6"]]
    (message,) = found["message"]
    assert message.endswith('those of the pipe behind each joint? Then say records.pipe = "back"')
    assert not codes(placed(*half_pipe(back=False, **kinds)))
    assert not codes(placed(*half_pipe(**kinds), records={"pipe": "back"}))


def test_a_joint_that_is_missing_beside_a_half_pipe_is_still_missing():
    records, points = half_pipe()
    found = placed(records.drop(index=7), points).findings
    assert "joints-missing" in found["code"].tolist()
    # A short length whose pipe fits nowhere beside it explains nothing.
    short = log(STRAIGHT).assign(**{"laid length": [""] * 6 + ["10"] + [""] * 4})
    assert codes(placed(short)) == ["joints-missing"]


@pytest.mark.parametrize(
    ("logged", "turn", "doubted"),
    [(9.0, 9.0, False), (4.5, 4.5, False), (9.0, 90.0, True), (2.25, 22.5, True), (2.25, 2.25, False)],
)
def test_an_odd_angle_of_a_bend_is_doubted_where_the_line_turns_otherwise(logged, turn, doubted):
    """Makers make bends of special angles; a slipped point leaves a tenth of what the line turns."""
    turns = np.zeros(18)
    turns[8] = turn
    points = pipe(turns)
    records = log(points).assign(kind="pipe", **{"bend angle": ""})
    records.loc[9, ["kind", "bend angle"]] = "bend", f"{logged:g}"
    found = placed(records, points).findings.query("code == 'entry-doubtful'")
    assert found["joint"].tolist() == (["10"] if doubted else [])
    assert not doubted or f"the line turns {turn:g} deg there" in found["message"].item()


def test_pages_of_another_time_are_no_second_order_of_dates():
    """Days that follow one another as they are written are of another page, though exchanged they are in turn, too."""
    days = ["2026-03-25"] * 4 + ["2026-01-04", "2026-01-04", "2026-01-05"] + ["2026-06-22"] * 5
    records = log(pipe(np.zeros(11)))
    assert "as if month and day were exchanged: by" not in dates_told(records.iloc[: len(days)].assign(date=days))
    # Written day first from 4 to 6 April: each is read a month after the one before it.
    mixed = ["2026-03-25"] * 4 + ["2026-04-04", "2026-05-04", "2026-06-04"] + ["2026-04-13"] * 5
    assert "as if month and day were exchanged" in dates_told(records.iloc[: len(mixed)].assign(date=mixed))


def dates_told(records):
    found = placed(records, pipe(np.zeros(len(records) - 1))).findings
    return " ".join(found.query("code == 'date-doubtful'")["message"])


def test_dates_of_two_seasons_and_of_two_crews_are_in_turn():
    records = pd.concat([log(STRAIGHT)] * 3, ignore_index=True)
    records["joint"] = [str(at + 1) for at in range(len(records))]
    records["station"] = [f"{20 * at // 100}+{20 * at % 100:02d}" for at in range(len(records))]
    line = pipe(np.zeros(len(records)))
    two_seasons = ["2025-10-06"] * 16 + ["2026-04-02"] * 17
    two_crews = [f"2026-04-{2 + at % 11:02d}" for at in range(33)]
    for dates in (two_seasons, two_crews, two_seasons[::-1]):
        assert "date-doubtful" not in codes(placed(records.assign(date=dates), line))
    winter = ["2025-12-10"] * 16 + ["2025-01-07"] * 2 + ["2026-01-08"] * 15
    found = placed(records.assign(date=winter), line).findings.query("code == 'date-doubtful'")
    assert found["joint"].tolist() == ["17", "18"]
    assert "as if the year were wrong" in found["message"].iloc[0]


def test_a_wrong_year_is_found_on_the_route_of_a_crew_among_those_of_others():
    """The days of a log of three routes, each from the first of March on, are not in turn; those of each route are."""
    mains = {name: STRAIGHT + np.array([0, 500.0 * at, 0]) for at, name in enumerate("ABC")}
    records = pd.concat([log(points).assign(route=name) for name, points in mains.items()], ignore_index=True)
    records["date"] = [f"2026-03-{1 + at % 11:02d}" for at in range(len(records))]
    assert "date-doubtful" not in codes(place(lines(**mains), records))
    records.loc[17, "date"] = "2025-03-07"
    found = place(lines(**mains), records).findings.query("code == 'date-doubtful'")
    assert found[["route", "joint"]].to_numpy().tolist() == [["B", "7"]]
    assert "the rows of its route before and behind it are of 2026-03-06 and 2026-03-08" in found["message"].item()


def test_a_whole_day_of_another_year_between_two_days_is_told_and_a_length_laid_in_that_year_is_not():
    """A third of the log and more was of that day, and nothing was told."""
    records = pd.concat([log(STRAIGHT)] * 3, ignore_index=True)
    records["joint"] = [str(at + 1) for at in range(len(records))]
    records["station"] = [f"{20 * at // 100}+{20 * at % 100:02d}" for at in range(len(records))]
    line, around = pipe(np.zeros(len(records))), (["2026-05-04"] * 10, ["2026-05-06"] * 10)
    for dates, told in ((["2025-05-05"] * 13, range(11, 24)), (["2025-03-05"] * 13, ()), (["2025-05-07"] * 13, ())):
        found = placed(records.assign(date=around[0] + dates + around[1]), line).findings
        found = found[found["code"] == "date-doubtful"]
        assert found["joint"].tolist() == [str(one) for one in told]
        assert found["message"].str.contains("as if the year were wrong").all()


@pytest.mark.parametrize("many", [2, 16])
def test_two_crews_that_count_each_from_one_are_told_as_that_and_a_number_twice_is_not(many):
    records = log(STRAIGHT)
    records = pd.concat([records] * 3, ignore_index=True)
    records["station"] = [f"{20 * at // 100}+{20 * at % 100:02d}" for at in range(len(records))]
    own = [str(at + 1) for at in range(len(records))]
    own[-many:] = [str(at) for at in range(many, 0, -1)]
    found = placed(records.assign(joint=own), pipe(np.zeros(len(records)))).findings
    told = found.loc[found["code"] == "joint-repeated", "message"]
    assert len(told) == (1 if many == 16 else 4)
    assert told.str.contains("as where two crews, or two days, count each from 1").eq(many > 8).all()


@pytest.mark.parametrize(("turn", "like"), [(44.2, "45"), (23.0, "22.5"), (6.5, None), (70.0, None)])
def test_a_joint_that_turns_as_a_bend_does_is_asked_about_as_one_that_is_not_in_the_log(turn, like):
    points = pipe([0.0] * 6 + [turn] + [0.0] * 6)
    shot = {"sigma_horizontal": 0.01, "sigma_vertical": 0.01}
    found = placed(log(points), points, centerline=shot).findings.query("code == 'deflection-over'")
    (told,) = found["message"]
    assert (f"; a bend of {like} deg turns so" in told) if like else ("a bend of" not in told)


def test_fields_that_the_job_does_not_ask_for_are_said_to_be_the_usual_ones():
    records = log(STRAIGHT).drop(columns="gauge", errors="ignore")
    for asked, basis in (({}, "usual for this joint family"), ({"required": ["gauge"]}, "required by the job")):
        found = placed(records, inspection=asked).findings.query("code == 'inspection-missing'")
        assert len(found)
        assert found["basis"].str.startswith(basis).all()


def test_readings_in_another_unit_make_no_verdict():
    records = log(STRAIGHT)
    for hour, gap in zip((12, 3, 6, 9), (0.9, 0.5, 0.1, 0.5), strict=True):
        records[f"gap {hour}"] = "12.5"
        records.loc[5, f"gap {hour}"] = str(gap)
    # Half an inch read as half a millimetre would be as even as can be.
    placement = placed(records, records={"reading_unit": "mm"})
    assert placement.findings.query("code == 'entry-doubtful'")["joint"].tolist() == ["6"]
    assert np.isnan(placement.joints["measured_deg"][5])
    assert not placement.joints["measured_deg"][4:5].isna().any()


def test_what_lies_between_repairs_is_no_gap_of_a_log_that_covers_a_part():
    turns = np.random.default_rng(3).uniform(-0.6, 0.6, 14)
    turns[7] = 5.7
    points = np.round(pipe(turns), 4)  # as a collector writes them: none is at its station to the last digit
    some = log(points[:-1]).iloc[[1, 2, 13]]
    shot = {"sigma_horizontal": 0.03, "sigma_vertical": 0.03}

    def told(covers, joints=some):
        placement = placed(joints, points, records={"covers": covers}, centerline=shot)
        return (
            set(codes(placement)),
            dict(zip(placement.joints.joint, placement.joints.verdict, strict=True)),
            placement,
        )

    found, verdicts, _ = told("whole")
    assert {"joints-missing", "turn-unlogged"} <= found
    assert verdicts["3"] == "within-assumed"
    found, verdicts, placement = told("part")
    assert not found & {"joints-missing", "turn-unlogged"}
    assert verdicts["3"] == verdicts["14"] == "not-computed"
    assert placement.joints.turn_deg.isna().all()
    # Numbers that leave no room tell that a station is wrong, in a part as in the whole.
    found, _, _ = told("part", some.assign(joint=["2", "3", "4"]))
    assert "joints-missing" in found


@pytest.mark.parametrize(
    ("turn", "logged", "told"),
    [
        (44.2, "22.5", "the line turns 44.2 deg there, as a bend of 45 deg does, and the log has one of 22.5 deg"),
        (0.5, "11.25", "the line turns 0.5 deg there, as without a bend: look whether the bend is in its row"),
        (33.0, "45", ""),
        (34.0, "22.5", ""),
    ],
)
def test_a_bend_of_another_angle_than_the_line_turns_is_asked_about(turn, logged, told):
    points = pipe([0.0] * 6 + [turn] + [0.0] * 6)
    bend = [""] * len(points)
    bend[7] = logged
    records = log(points, kind=["bend" if one else "pipe" for one in bend], bend_angle=bend)
    shot = {"sigma_horizontal": 0.01, "sigma_vertical": 0.01}
    found = placed(records, points, centerline=shot).findings.query("code == 'deflection-over'")
    (message,) = found["message"]
    assert "the bend leaves" in message
    assert (told in message) if told else ("the line turns" not in message)
