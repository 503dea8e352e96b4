"""Every field of a table that a job reads: one list that the job, the log, the template and the plugin share."""

CLOCK_HOURS = (12, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11)
"""Clock positions around a pipe, looking ahead, at which a joint may be read."""
GAP_FIELDS = tuple(f"gap_{hour}" for hour in CLOCK_HOURS)
GAUGE_FIELDS = tuple(f"gauge_{hour}" for hour in CLOCK_HOURS)

RECORD_FIELDS = (
    "route", "joint", "station", "offset", "kind", "size", "outside_diameter", "joint_type", "pipe_class",
    "laid_length", "cut", "restrained", "bend_angle", "bend_plane", "inspected_on", "inspector", "crew", "groove_clean",
    "spigot_clean", "gasket_clean", "gasket_temperature", "gasket_seated", "lubricated", "insertion_mark",
    "gauge", *GAP_FIELDS, *GAUGE_FIELDS,
    "bolt_torque", "easting", "northing", "elevation", "remarks", "photo",
)  # fmt: skip
"""Every field that a joint record can carry, in the order in which layers show them."""

SHOT_FIELDS = ("point", "northing", "easting", "elevation", "description", "route", "station", "joint")
"""Every field of a survey shot."""

TIE_FIELDS = ("route", "station", "easting", "northing")
"""Every field of a tie."""

CHECK_FIELDS = (
    "point", "easting", "northing", "elevation", "measured_easting", "measured_northing", "measured_elevation",
)  # fmt: skip
"""Every field of a check shot."""

GROUND_FIELDS = ("easting", "northing", "elevation", "route")
"""Every field of a shot of the ground; its elevation is the ground's."""

MEASURES = (
    dict.fromkeys(("station", "offset", "laid_length", "easting", "northing", "elevation"), "length")
    | dict.fromkeys(("outside_diameter", "size", *GAP_FIELDS, *GAUGE_FIELDS), "small")
    | {"gasket_temperature": "temperature", "bolt_torque": "torque", "bend_angle": "angle"}
)
"""What each field that has a unit is a measure of."""

FALLBACK_REQUIRED = "*"
