<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE TS>
<TS version="2.1">
<context>
    <name>asbuilt</name>
    <message>
        <location filename="../algorithm.py"/>
        <source>joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>pipe</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>as-built</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>deflection</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>Cancelled; the output is as it was before.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>The asbuilt command ended before it was done (exit status {0}); the output is as it was before.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>Cancelled too late: the work was done by then, and the output is the new one.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>The asbuilt environment is damaged ({0}). Set it up again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>Run it again; if it fails again, report it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>The asbuilt command answered with something else than JSON: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>{0} cannot be started: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../columns.py"/>
        <source>Columns: {0!r} is not of the form: field = column</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Field</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Column of the log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>by its name, if there</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Column of the log that holds this field. Left blank, it is matched by its name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>The asbuilt command is not here yet. Run the algorithm 'Set up the asbuilt environment' once (Processing toolbox, Joint records), or name an environment in the plugin's settings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>No Python interpreter was found: name one, of version 3.11 or later.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>This copy of the plugin came without its package: install it from its zip again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>On Debian, install the package python3-venv.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>Installing asbuilt and its libraries; this takes a minute or two ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>Look at the lines above; is the package index reachable?</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>asbuilt {0} is ready in {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} is asbuilt {1}, but this plugin needs {2}. Run the algorithm 'Set up the asbuilt environment', or name another environment in the plugin's settings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>Making a virtual environment in {0} ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0}, named in the plugin's settings, is not there. Correct it there, or leave it blank.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} is not a Python interpreter: name one, of version 3.11 or later.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} is Python {1}, but asbuilt needs 3.11 or later: name another interpreter.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>The environment could not be made:</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} does not answer as the asbuilt command ({1}). Run the algorithm 'Set up the asbuilt environment', or correct the plugin's settings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Find joints in the register</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Finds the joints near a point, in polygons, or on a stretch of a route, with their inspections and findings. All that is given must hold; without a distance, the ten joints nearest to the point are given.

Distances are measured on the ground, in the unit that you write: 50ft, 20m.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>In a group of their own, with their relations.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Point at it on the map.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>On the ground, with its unit: 50ft, 20m.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>The nearest ones to the point.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>A layer of polygons, in any coordinate system.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Name of the route.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Such as 12+34.56; needs the route.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Such as 15+00; needs the route.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Number of the joint, or its joint ID.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Deflection against its allowable.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Joints at which one of these was found.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Part of the inspector's name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>On this day or later.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>On this day or earlier.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Open the layers in the project</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Joints found</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Number of joints</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Near this point</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Within</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>At most so many</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>In these polygons</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Route</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>From station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>To station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Verdict</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Finding</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Inspector</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Inspected since</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Inspected until</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>GeoPackage</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>{0} joints</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Findings of a placed job</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The placed jobs whose layers are open in the project</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>all findings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Only findings of this severity</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Filter</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>filter</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Only rows that hold this text: a code, a route, a joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Findings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Set aside</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Previous</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The finding or row before this one</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Next</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The finding or row after this one</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>&amp;Zoom to</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Brings the finding to the middle of the map</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Open the log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Opens the file of the row that was set aside</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Route of the station to go to</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>go to station, such as 12+34.5</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>With Enter, the map goes there</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Open the layers of a placed job: its findings are listed here.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Severity</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>File</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Row</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Reason</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>There is none beyond this one in the list.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Placed again: {0} findings are gone, {1} are new (in bold).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>This finding is about the job as a whole, or has no place.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Opened {0}: go to row {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>{0} is not where it was when the job was placed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>{0} cannot be read as a placed job: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>Inspection</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>Earlier record</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>Joint {0}, route {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>By load {0} ({1})</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>No inspection record.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>{0} of {1} degrees allowed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>the survey bounds it between {0} and {1} degrees</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>measured at the joint: {0} degrees</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>{0} degrees</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0} has changes that are not saved in {1}: save them, or discard them, and run this again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0}: which rows of {1} the filter or selection leaves cannot be told. Take it off, or save the rows as a file of their own.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0}: the filter or selection leaves no record.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0} cannot be handed to asbuilt: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>A published table; written down from memory, so check it against your edition. None, if left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Rows of joint_type,size,allowable_deg,source: they win over the table's.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Stands in the output and the register. Give each job its own: jobs of one name correct one another.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Columns of the log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Unit of the stations</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Unit of stations and lengths in the log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Laying length</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Nominal length of one pipe, in the unit of the stations.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Allowable deflections</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Approved submittal (CSV)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Name of the job</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>A CSV of survey shots or a LandXML file, in place of a line layer.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Where there is one route, and no column that names it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Only where the centerline does not say its own.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>As the specification says; 1 is all of it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Of the layers that are written; the centerline's, if left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>TOML, such as: records.spacing_tolerance = 0.5. All keys: asbuilt check --template</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Save as job file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Writes this form down as a job file, to be run again, by the command too.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>a copy of the layer {0} ({1})</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The surveyed lines of the routes, in a projected coordinate system.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Names the route of each line. Not needed where there is one route.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Station of each line's first vertex.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Station of the first vertex, such as 10+00.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>One row for each, in order along the route: the same point is 'back' from one side and 'ahead' from the other.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>A table or layer with a row for each joint; points of a layer place their joints.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>CSV files and workbooks as the crew handed them in; several are one log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Which column is which field, as lines of: field = column. The rest is matched by name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Centerline file (survey shots, LandXML)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Name of the route</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Coordinate system of the centerline</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Part of the allowable that may be used</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Coordinate system of the map</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Further keys of the job file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Job file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>centerline</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>joint log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the laying length</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the job a name of its own: in the register, jobs of one name correct one another</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The form cannot be saved as a job file: a layer of it is in no file, or changed by a filter. Save the layer first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Centerline</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Column with the route</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Column with the start station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>... or one start station for all</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Station equations</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Joint log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>... or its files</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Saved as job file: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>route</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>back</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>ahead</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Survey shots or LandXML</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>{0} is there and was not saved from this form: name another file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The {0} is given twice: as a layer and as a file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>{0} cannot be written: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Reads and judges a joint log and its centerline; nothing is written but the log with remarks, if wanted.

The log below then says what would become of every record: how many can be placed, which are set aside and why, how the columns are read, and what there is to look at.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Puts every joint of a log at its place on the surveyed centerline, computes what it deflects, judges it against what its size and type allow, and writes a GeoPackage: joints, segments, findings, centerline, inspections, records set aside, and what made the file.

The layers open in the project with their styles; a joint's form shows its inspections and findings. No record is lost: each is placed, or set aside with its reason.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Check a joint log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Check a job file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Place joints on the map</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Place the joints of a job file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>A job file that is there already, with all that the job needs.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Log with remarks, for the contractor</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>The log's own cells, with a column of remarks on what is wrong and what is expected.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>In a group of their own, with styles and relations.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Placed job</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Workbook</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Logs with remarks that were written</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Left out, the one that the job file names.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0} records read = {1} placed + {2} set aside</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0} joints on {1} of {2} routes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0} findings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>note: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0}: column {1!r} is read as {2}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0}: column {1!r} is not read</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Written: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../outputs.py"/>
        <source>{0} is read by this work, so it cannot be its output; name another file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>what was found when looking at it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Joint records</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>GeoPackage, or postgresql:// address</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The register: where 'Load a placed job into the register' put the joints.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>&amp;Point at a joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Then click on the map: shows the nearest joint.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Draw a &amp;rectangle</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Then drag on the map: lists the joints in it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>A route's name; with Enter, its joints are listed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>A joint's number; with Enter, it is looked up.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Joints found, nearest first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Previous joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The joint before this one along the route (Alt+Left)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Next joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The joint after this one along the route (Alt+Right)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Brings the joint to the middle of the map</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Findings at the joints listed above; the next one is one key (Down) away.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Next &amp;finding</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The next finding that nobody has looked at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Note</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Kept in the register with the finding</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>&amp;Mark as looked at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Keeps the mark and the note in the register</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>No joint there. Point nearer to one, or zoom in.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>No joint in there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Asking the register ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The register has changed; look the joint up again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>All findings here have been looked at.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Away</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Looked at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>No such joint in the register.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Name the register first, in the field at the top.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Marked in the register.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The route has no joint beyond this one.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Load a placed job into the register</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Merges a placed job into the register of the utility's joints: known joints are brought up to date and keep their history, new ones are added, and what contradicts the register is listed and left out. Loading the same job again changes nothing.

The register is a GeoPackage, made if it is not there yet, or a database named as postgresql://...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Write the engineer's review</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Writes pages for the reviewing engineer, one for each route and an index: deflection along the route against the allowable, plan and profile, and tables of what to look at. They open in a browser without a network.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Register</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>A GeoPackage, or a database named as postgresql://user@host/name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Any layer of a placed job, such as its joints, or its GeoPackage; the whole file is read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Only list what would happen</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Nothing is changed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Only this route; all, if left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Also print the pages to PDF</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Needs the browser Chromium on this machine.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Also write each plot as a picture</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>SVG and PNG, for a report of your own.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>What was done, as JSON</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Folder of the pages</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>First page</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Any file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>{0} is not a layer of a GeoPackage: choose a layer that 'Place joints on the map' wrote.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>The input</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Shows or hides the panel with what a placed job's records and survey give cause to look at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Shows or hides the panel with what the register knows about a joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Place joints ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Settings ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>History of a joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register.py"/>
        <source>The area cannot be handed to asbuilt: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Joints</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Restraint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Pressure tests</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Segments</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Inspections</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Run</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Joint records: settings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>the plugin's own environment</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>The asbuilt command; blank for the environment that the plugin made.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>The register that the panel asks: a GeoPackage, or a postgresql:// address.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Your name, as it stands with the findings that you mark as looked at.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Set up the environment ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Makes a virtual environment in your profile and installs the command there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Command</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Your name</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Ready: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Set up the asbuilt environment</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Makes a virtual environment in your profile and installs the asbuilt command there, with its libraries; the host's own libraries stay as they are. Needed once, and again after the plugin was updated.

It takes a minute or two, a network connection to a Python package index, and Python 3.11 or later.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Python interpreter</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Of version 3.11 or later; looked for, if left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>The command</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Its version</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>{0!r} cannot be read as a station; write it like 12+34.56</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>the stations of this job are plain numbers; {0!r} has a plus</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>there is no station {0} on this route</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>the station occurs more than once; write {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source> or </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../tasks.py"/>
        <source>Joint records: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../words.py"/>
        <source>Not for locating. Before digging: locate request and trench protection. Isolate and depressurize the main before moving a joint. Local codes, the site's safety plan and a licensed engineer govern.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../words.py"/>
        <source>These are findings on records, not an acceptance of work. Limits come from the approved submittal and the project's specification; local codes and the pipe maker's instructions govern, and the judgement is a licensed engineer's.</source>
        <translation type="unfinished"></translation>
    </message>
</context>
</TS>
