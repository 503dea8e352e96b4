<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE TS>
<TS version="2.1" language="es">
<context>
    <name>asbuilt</name>
    <message>
        <location filename="../again.py"/>
        <source>This job was placed from selected features only, or from a layer in memory ({0}): what was chosen then is not known any more. Open the form from the toolbox, and choose it there.</source>
        <translation>Este trabajo se ubicó solo a partir de objetos seleccionados o de una capa en memoria ({0}): ya no se sabe qué se eligió entonces. Abra el formulario desde la caja de herramientas y elíjalo allí.</translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>The project was closed meanwhile, so nothing is opened in the one that is here now. Written: {0}</source>
        <translation>El proyecto se cerró entretanto, así que no se abre nada en el que está aquí ahora. Escrito: {0}</translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>joint</source>
        <translation>junta</translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>pipe</source>
        <translation>tubo</translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>as-built</source>
        <translation>conforme a obra</translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>station</source>
        <translation>estación</translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>deflection</source>
        <translation>deflexión</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>Cancelled; the output is as it was before.</source>
        <translation>Cancelado; la salida queda como estaba.</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>The asbuilt command ended before it was done (exit status {0}); the output is as it was before.</source>
        <translation>El comando asbuilt terminó antes de acabar (estado de salida {0}); la salida queda como estaba.</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>Cancelled too late: the work was done by then, and the output is the new one.</source>
        <translation>Cancelado demasiado tarde: el trabajo ya estaba hecho y la salida es la nueva.</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>The asbuilt environment is damaged ({0}). Set it up again.</source>
        <translation>El entorno de asbuilt está dañado ({0}). Instálelo de nuevo.</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>Run it again; if it fails again, report it.</source>
        <translation>Ejecútelo otra vez; si vuelve a fallar, avise del error.</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>The asbuilt command answered with something other than JSON: {0}</source>
        <translation>El comando asbuilt respondió con algo que no es JSON: {0}</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>{0} cannot be started: {1}</source>
        <translation>{0} no se puede iniciar: {1}</translation>
    </message>
    <message>
        <location filename="../columns.py"/>
        <source>Columns: {0!r} is not of the form: field = column</source>
        <translation>Columnas: {0!r} no tiene la forma: campo = columna</translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Field</source>
        <translation>Campo</translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Column of the log</source>
        <translation>Columna de la bitácora</translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>by its name, if there</source>
        <translation>por su nombre, si la hay</translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Column of the log that holds this field. Left blank, it is matched by its name.</source>
        <translation>Columna de la bitácora con este campo. Si se deja en blanco, se busca por su nombre.</translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Two columns of the log could be the same field; choose one: {0}</source>
        <translation>Dos columnas de la bitácora podrían ser el mismo campo; elija una: {0}</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>The asbuilt command is not here yet. Run the algorithm 'Set up the asbuilt environment' once (Processing toolbox, Joint records), or name an environment in the plugin's settings.</source>
        <translation>El comando asbuilt todavía no está. Ejecute una vez el algoritmo 'Instalar el entorno de asbuilt' (caja de herramientas, Juntas de tubería), o indique un entorno en la configuración del complemento.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>No Python interpreter was found: name one, of version 3.11 or later.</source>
        <translation>No se encontró ningún Python: indique uno, versión 3.11 o posterior.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>This copy of the plugin came without its package: install it from its zip again.</source>
        <translation>A esta copia del complemento le falta su paquete: instálelo otra vez desde el archivo ZIP.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>On Debian, install the package python3-venv.</source>
        <translation>En Debian, instale el paquete python3-venv.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>Installing asbuilt and its libraries; this takes a minute or two ...</source>
        <translation>Instalando asbuilt y sus bibliotecas; tarda uno o dos minutos ...</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>Look at the lines above; is the package index reachable?</source>
        <translation>Mire las líneas de arriba; ¿se puede llegar al índice de paquetes?</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>The environment cannot be made in {0} ({1}): look at the folder's rights and room.</source>
        <translation>El entorno no se puede crear en {0} ({1}): revise los permisos y el espacio de la carpeta.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>asbuilt {0} is ready in {1}.</source>
        <translation>asbuilt {0} está listo en {1}.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} is asbuilt {1}, but this plugin needs {2}. Run the algorithm 'Set up the asbuilt environment', or name another environment in the plugin's settings.</source>
        <translation>{0} es asbuilt {1}, pero este complemento necesita {2}. Ejecute el algoritmo 'Instalar el entorno de asbuilt', o indique otro entorno en la configuración.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>Making a virtual environment in {0} ...</source>
        <translation>Creando un entorno virtual en {0} ...</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0}, named in the plugin's settings, is not there. Correct it there, or leave it blank.</source>
        <translation>{0}, indicado en la configuración del complemento, no está. Corríjalo allí, o déjelo en blanco.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} is not a Python interpreter: name one, of version 3.11 or later.</source>
        <translation>{0} no es un intérprete de Python: indique uno, versión 3.11 o posterior.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} is Python {1}, but asbuilt needs 3.11 or later: name another interpreter.</source>
        <translation>{0} es Python {1}, pero asbuilt necesita 3.11 o posterior: indique otro.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>The environment could not be made:</source>
        <translation>No se pudo instalar el entorno:</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} does not answer as the asbuilt command ({1}). Run the algorithm 'Set up the asbuilt environment', or correct the plugin's settings.</source>
        <translation>{0} no responde como el comando asbuilt ({1}). Ejecute el algoritmo 'Instalar el entorno de asbuilt', o corrija la configuración.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Find joints in the register</source>
        <translation>Buscar juntas en el registro</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Finds the joints near a point, in polygons, or on a stretch of a route, with their inspections and findings. Joints must meet every condition given; without a distance, the ten joints nearest to the point are listed.

Distances are measured on the ground, in the unit that you write: 50ft, 20m.</source>
        <translation>Busca las juntas cerca de un punto, dentro de polígonos o en un tramo de una ruta, con sus inspecciones y hallazgos. Debe cumplirse todo lo indicado; sin distancia, se dan las diez juntas más cercanas al punto.

Las distancias se miden sobre el terreno, en la unidad que escriba: 50ft, 20m.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>In a group of their own, with their relations.</source>
        <translation>En un grupo propio, con sus relaciones.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Point at it on the map.</source>
        <translation>Señálelo en el mapa.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>On the ground, with its unit: 50ft, 20m.</source>
        <translation>Sobre el terreno, con su unidad: 50ft, 20m.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>The nearest ones to the point.</source>
        <translation>Las más cercanas al punto.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>A layer of polygons, in any coordinate system.</source>
        <translation>Una capa de polígonos, en cualquier sistema de coordenadas.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Name of the route.</source>
        <translation>Nombre de la ruta.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Such as 12+34.56; needs the route.</source>
        <translation>Como 12+34.56; necesita la ruta.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Such as 15+00; needs the route.</source>
        <translation>Como 15+00; necesita la ruta.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Number of the joint, or its joint ID.</source>
        <translation>Número de la junta, o su identificador.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Deflection against its allowable.</source>
        <translation>Deflexión frente a la admisible.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Joints at which one of these was found.</source>
        <translation>Juntas en las que se halló uno de estos.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Part of the inspector's name.</source>
        <translation>Parte del nombre del inspector.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>On this day or later.</source>
        <translation>Ese día o después.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>On this day or earlier.</source>
        <translation>Ese día o antes.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Open the layers in the project</source>
        <translation>Abrir las capas en el proyecto</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Joints found</source>
        <translation>Juntas encontradas</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Number of joints</source>
        <translation>Cantidad de juntas</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Near this point</source>
        <translation>Cerca de este punto</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Within</source>
        <translation>A menos de</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>At most this many</source>
        <translation>Como máximo</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>In these polygons</source>
        <translation>Dentro de estos polígonos</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Route</source>
        <translation>Ruta</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>From station</source>
        <translation>Desde la estación</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>To station</source>
        <translation>Hasta la estación</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Joint</source>
        <translation>Junta</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Verdict</source>
        <translation>Dictamen</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Finding</source>
        <translation>Hallazgo</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Inspector</source>
        <translation>Inspector</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Inspected since</source>
        <translation>Inspeccionada desde</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Inspected until</source>
        <translation>Inspeccionada hasta</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>GeoPackage</source>
        <translation>GeoPackage</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>{0} joints were found.</source>
        <translation>Se encontraron {0} juntas.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Opens the log at its row: its table where the log is a layer of the project, else its file</source>
        <translation>Abre la bitácora en su fila: la tabla si la bitácora es una capa del proyecto; si no, el archivo</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Opens the form that placed this job, filled in as it was</source>
        <translation>Abre el formulario que ubicó este trabajo, tal como se llenó</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Findings of a placed job</source>
        <translation>Hallazgos de un trabajo ubicado</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The placed jobs whose layers are open in the project</source>
        <translation>Los trabajos ubicados cuyas capas están abiertas en el proyecto</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>all findings</source>
        <translation>todos los hallazgos</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Only findings of this severity</source>
        <translation>Solo hallazgos de esta gravedad</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Filter</source>
        <translation>Filtro</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>filter</source>
        <translation>filtrar</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Only rows that hold this text: a code, a route, a joint</source>
        <translation>Solo filas con este texto: un código, una ruta, una junta</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Findings</source>
        <translation>Hallazgos</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Set aside</source>
        <translation>Apartados</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Notes</source>
        <translation>Avisos</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Previous</source>
        <translation>Anterior</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The finding or row before this one (Alt+Left)</source>
        <translation>El hallazgo o la fila anterior (Alt+Izquierda)</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Next</source>
        <translation>Siguiente</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The finding or row after this one (Alt+Right)</source>
        <translation>El hallazgo o la fila siguiente (Alt+Derecha)</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Zoom to</source>
        <translation>Acercar</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Brings the finding to the middle of the map</source>
        <translation>Lleva el hallazgo al centro del mapa</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Joint's form</source>
        <translation>Formulario de junta</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Opens the form of the finding's joint</source>
        <translation>Abre el formulario de la junta del hallazgo</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Open the log</source>
        <translation>Abrir la bitácora</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Place again ...</source>
        <translation>Ubicar otra vez ...</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Route of the station to go to</source>
        <translation>Ruta de la estación a la que ir</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Station</source>
        <translation>Estación</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>go to station, such as 12+34.5</source>
        <translation>ir a la estación, como 12+34.5</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>With Enter, the map goes there</source>
        <translation>Con Intro, el mapa va allí</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Open the layers of a placed job: its findings are listed here.</source>
        <translation>Abra las capas de un trabajo ubicado: sus hallazgos aparecerán aquí.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Severity</source>
        <translation>Gravedad</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>File</source>
        <translation>Archivo</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Row</source>
        <translation>Fila</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Reason</source>
        <translation>Motivo</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Note</source>
        <translation>Aviso</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Joint records: are the files as they were?</source>
        <translation>Juntas de tubería: ¿están los archivos como estaban?</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>There is none beyond this one in the list.</source>
        <translation>No hay ninguno más en la lista.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Placed again: {0} findings are gone, {1} are new (in bold).</source>
        <translation>Ubicado otra vez: {0} hallazgos ya no están, {1} son nuevos (en negrita).</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>This finding is about the job as a whole, or has no place.</source>
        <translation>Este hallazgo es del trabajo en su conjunto, o no tiene lugar.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The joints of this job are not open in the project.</source>
        <translation>Las juntas de este trabajo no están abiertas en el proyecto.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The filter of {0} leaves this joint out.</source>
        <translation>El filtro de {0} deja fuera esta junta.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Placed {0} by asbuilt {1}.</source>
        <translation>Ubicado {0} con asbuilt {1}.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>{0} is not there any more.</source>
        <translation>{0} ya no está.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>{0} is not where it was when the job was placed.</source>
        <translation>{0} ya no está donde estaba cuando se ubicó el trabajo.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>{0} cannot be read as a placed job: {1}</source>
        <translation>{0} no se puede leer como trabajo ubicado: {1}</translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>Fill in from a job file ...</source>
        <translation>Rellenar desde un archivo de trabajo ...</translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>Takes the values of this form from a job file, such as one saved from this form.</source>
        <translation>Toma los valores de este formulario de un archivo de trabajo, como uno guardado desde este formulario.</translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>Job file</source>
        <translation>Archivo de trabajo</translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>The form is filled in from {0}.</source>
        <translation>El formulario se rellenó desde {0}.</translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>{0} keys that have no field here stand under 'Further keys of the job file'.</source>
        <translation>{0} claves que no tienen campo aquí están en 'Otras claves del archivo de trabajo'.</translation>
    </message>
    <message>
        <location filename="../form_words.py"/>
        <source>this form</source>
        <translation>este formulario</translation>
    </message>
    <message>
        <location filename="../form_words.py"/>
        <source>Load a placed job into the register</source>
        <translation>Cargar un trabajo ubicado en el registro</translation>
    </message>
    <message>
        <location filename="../form_words.py"/>
        <source>List and settle joints that contradict the register</source>
        <translation>Listar y resolver juntas que contradicen al registro</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>Inspection</source>
        <translation>Inspección</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>Earlier record</source>
        <translation>Anotación anterior</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>Joint {0}, route {1}</source>
        <translation>Junta {0}, ruta {1}</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>By load {0} ({1})</source>
        <translation>Según la carga {0} ({1})</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>No inspection record.</source>
        <translation>Sin inspección anotada.</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>{0} of {1} degrees allowed</source>
        <translation>{0} de {1} grados admisibles</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>the survey bounds it between {0} and {1} degrees</source>
        <translation>según el levantamiento, entre {0} y {1} grados</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>measured at the joint: {0} degrees</source>
        <translation>medido en la junta: {0} grados</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>The verdict assumes that</source>
        <translation>El dictamen supone que</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>{0} degrees</source>
        <translation>{0} grados</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>{0} degrees allowed</source>
        <translation>{0} grados admisibles</translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0} has changes that are not saved in {1}: save them, or discard them, and run this again.</source>
        <translation>{0} tiene cambios que no están guardados en {1}: guárdelos o descártelos, y ejecute esto otra vez.</translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0}: which rows of {1} the filter or selection leaves cannot be told. Take it off, or save the rows as a file of their own.</source>
        <translation>{0}: no se puede saber qué filas de {1} deja el filtro o la selección. Quítelo, o guarde las filas en un archivo aparte.</translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0}: the filter or selection leaves no record.</source>
        <translation>{0}: el filtro o la selección no deja ninguna anotación.</translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0} cannot be handed to asbuilt: {1}</source>
        <translation>{0} no se puede pasar a asbuilt: {1}</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Stands in the output and the register. Give each job its own: jobs of one name correct one another.</source>
        <translation>Figura en la salida y en el registro. Dé a cada trabajo el suyo: los trabajos del mismo nombre se corrigen entre sí.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Which column is which field, as lines of: field = column. The rest is matched by name.</source>
        <translation>Qué columna es qué campo, en líneas: campo = columna. Lo demás se busca por su nombre.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>A published table; written down from memory, so check it against your edition. None, if left out.</source>
        <translation>Una tabla publicada, escrita de memoria: compruébela con su edición. Ninguna, si se omite.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Rows of joint_type,size,allowable_deg,source: they win over the table's.</source>
        <translation>Filas de joint_type,size,allowable_deg,source: prevalecen sobre las de la tabla.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Name of the job</source>
        <translation>Nombre del trabajo</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Unit of the stations</source>
        <translation>Unidad de las estaciones</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Unit of stations and lengths in the log.</source>
        <translation>Unidad de las estaciones y longitudes de la bitácora.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Laying length</source>
        <translation>Longitud útil</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Nominal length of one pipe, in the unit of the stations.</source>
        <translation>Longitud nominal de un tubo, en la unidad de las estaciones.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Columns of the log</source>
        <translation>Columnas de la bitácora</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Allowable deflections</source>
        <translation>Deflexiones admisibles</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Approved submittal (CSV)</source>
        <translation>Documento aprobado (CSV)</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>A CSV of survey shots or a LandXML file, in place of a line layer.</source>
        <translation>Un CSV de puntos levantados o un archivo LandXML, en lugar de una capa de líneas.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Where there is one route, and no column that names it.</source>
        <translation>Donde hay una sola ruta y ninguna columna la nombra.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Only where the centerline does not say its own.</source>
        <translation>Solo donde el eje no dice el suyo.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>As the specification says; 1 is all of it.</source>
        <translation>Según la especificación; 1 es toda.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Of the layers that are written; the centerline's, if left out.</source>
        <translation>De las capas que se escriben; si se omite, el del eje.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>TOML, such as: records.spacing_tolerance = 0.5. All keys: asbuilt check --template</source>
        <translation>TOML, como: records.spacing_tolerance = 0.5. Todas las claves: asbuilt check --template</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Save as job file</source>
        <translation>Guardar como archivo de trabajo</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Writes this form down as a job file, to be run again, by the command too.</source>
        <translation>Escribe este formulario como archivo de trabajo, para ejecutarlo otra vez, también con el comando.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>a copy of the layer {0} ({1})</source>
        <translation>una copia de la capa {0} ({1})</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The surveyed lines of the routes, in a projected coordinate system.</source>
        <translation>Las líneas levantadas de las rutas, en un sistema de coordenadas proyectado.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Names the route of each line. Not needed where there is one route.</source>
        <translation>Nombra la ruta de cada línea. No hace falta donde hay una sola.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Station of each line's first vertex.</source>
        <translation>Estación del primer vértice de cada línea.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Station of the first vertex, such as 10+00.</source>
        <translation>Estación del primer vértice, como 10+00.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>One row for each, in order along the route: the same point is 'back' from one side and 'ahead' from the other.</source>
        <translation>Una fila para cada una, en orden a lo largo de la ruta: el mismo punto es 'atrás' por un lado y 'adelante' por el otro.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>A table or layer with a row for each joint; points of a layer place their joints.</source>
        <translation>Una tabla o capa con una fila por junta; los puntos de una capa ubican sus juntas.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>CSV files and workbooks as the crew handed them in; several are one log.</source>
        <translation>Archivos CSV y libros de cálculo tal como los entregó la cuadrilla; varios son una sola bitácora.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Centerline file (survey shots, LandXML)</source>
        <translation>Archivo del eje (puntos levantados, LandXML)</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Name of the route</source>
        <translation>Nombre de la ruta</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Coordinate system of the centerline</source>
        <translation>Sistema de coordenadas del eje</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Part of the allowable that may be used</source>
        <translation>Parte de lo admisible que se puede usar</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Coordinate system of the map</source>
        <translation>Sistema de coordenadas del mapa</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Further keys of the job file</source>
        <translation>Otras claves del archivo de trabajo</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>centerline</source>
        <translation>eje</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>joint log</source>
        <translation>bitácora de juntas</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The start station is given twice: by a column and as one for all; clear one of them</source>
        <translation>La estación inicial se indica dos veces: por una columna y como una para todas; borre una de ellas</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the start station: a column, or one for all (0+00 where stations count from there)</source>
        <translation>Indique la estación inicial: una columna, o una para todas (0+00 donde las estaciones empiezan ahí)</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the laying length</source>
        <translation>Indique la longitud útil</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the job a name of its own: in the register, jobs of one name correct one another</source>
        <translation>Dé al trabajo un nombre propio: en el registro, los trabajos del mismo nombre se corrigen entre sí</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The form cannot be saved as a job file: a layer of it is in no file, or changed by a filter. Save the layer first.</source>
        <translation>El formulario no se puede guardar como archivo de trabajo: una capa no está en ningún archivo, o un filtro la cambia. Guarde primero la capa.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Centerline</source>
        <translation>Eje</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Column with the route</source>
        <translation>Columna con la ruta</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Column with the start station</source>
        <translation>Columna con la estación inicial</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>... or one start station for all</source>
        <translation>... o una estación inicial para todas</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Station equations</source>
        <translation>Ecuaciones de estación</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Joint log</source>
        <translation>Bitácora de juntas</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>... or its files</source>
        <translation>... o sus archivos</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Saved as job file: {0}</source>
        <translation>Guardado como archivo de trabajo: {0}</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>route</source>
        <translation>ruta</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>back</source>
        <translation>atrás</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>ahead</source>
        <translation>adelante</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Survey shots or LandXML</source>
        <translation>Puntos levantados o LandXML</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>{0} is what was found, not a joint log: choose what the crew handed in</source>
        <translation>{0} es lo que se encontró, no una bitácora de juntas: elija lo que entregó la cuadrilla</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>a key is written under {0}</source>
        <translation>una clave se escribe en {0}</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>{0} is there and was not saved from this form: name another file</source>
        <translation>{0} existe y no se guardó desde este formulario: indique otro archivo</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the {0}</source>
        <translation>Falta: {0}</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The {0} is given twice: as a layer and as a file</source>
        <translation>Indicado dos veces, como capa y como archivo: {0}</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>{0} cannot be written: {1}</source>
        <translation>{0} no se puede escribir: {1}</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>'{0}' is given twice: take {1} out of {2}</source>
        <translation>'{0}' se indica dos veces: quite {1} de {2}</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Put a job's joints on the utility's own layer</source>
        <translation>Llevar las juntas de un trabajo a la capa propia del servicio</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Appends the joints of a job to the utility's own layer, column by column as the section [map] of the job file says. Joints that are there already are not added again. A value that does not fit its column is named, and nothing is written.</source>
        <translation>Añade las juntas de un trabajo a la capa propia del servicio, columna por columna, como dice la sección [map] del archivo de trabajo. Las que ya están no se añaden otra vez. Si un valor no cabe en su columna, se dice cuál es y no se escribe nada.</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Write a blank log for the crew</source>
        <translation>Escribir una bitácora en blanco para la cuadrilla</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Writes a blank joint log whose columns, lists and limits are those that the job and the checks ask for: a workbook, or a page for a tablet. Filled in, it is read as the job's log. A log that is filled in is never written over.</source>
        <translation>Escribe una bitácora en blanco con las columnas, listas y límites que piden el trabajo y las comprobaciones: un libro de cálculo, o una página para tableta. Rellena, se lee como la bitácora del trabajo. Una bitácora rellena nunca se sobrescribe.</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Only list what would happen</source>
        <translation>Solo listar lo que pasaría</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Nothing is written. Untick it when the list is as it should be.</source>
        <translation>No se escribe nada. Desmárquelo cuando la lista esté como debe.</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Only for this route; for all, if left out.</source>
        <translation>Solo para esta ruta; para todas, si se omite.</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>What was done, as JSON</source>
        <translation>Lo que se hizo, como JSON</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Workbook</source>
        <translation>Libro de cálculo</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Page for a tablet</source>
        <translation>Página para tableta</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Blank log</source>
        <translation>Bitácora en blanco</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Written: {0}, a blank log of {1} columns and {2} rows.</source>
        <translation>Escrito: {0}, una bitácora en blanco de {1} columnas y {2} filas.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Reads and judges a joint log and its centerline; nothing is written but the log with remarks, if wanted.

The log below then says what would become of every record: how many can be placed, which are set aside and why, how the columns are read, and what there is to look at.</source>
        <translation>Lee y juzga una bitácora de juntas y su eje; no se escribe nada más que la bitácora con observaciones, si se pide.

Abajo se dice qué sería de cada anotación: cuántas se pueden ubicar, cuáles se apartan y por qué, cómo se leen las columnas y qué hay que mirar.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Puts every joint of a log at its place on the surveyed centerline, computes what it deflects, judges it against what its size and type allow, and writes a GeoPackage: joints, segments, findings, centerline, inspections, records set aside, and what made the file.

The layers open in the project with their styles; a joint's form shows its inspections and findings. No record is lost: each is placed, or set aside with its reason.</source>
        <translation>Pone cada junta de una bitácora en su lugar sobre el eje levantado, calcula cuánto se desvía, la juzga según lo que admiten su diámetro y tipo, y escribe un GeoPackage: juntas, segmentos, hallazgos, eje, inspecciones, anotaciones apartadas y con qué se hizo el archivo.

Las capas se abren en el proyecto con sus estilos; el formulario de una junta muestra sus inspecciones y hallazgos. Ninguna anotación se pierde: cada una se ubica, o se aparta con su motivo.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Check a joint log</source>
        <translation>Comprobar una bitácora de juntas</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Check a job file</source>
        <translation>Comprobar un archivo de trabajo</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Place joints on the map</source>
        <translation>Ubicar las juntas en el mapa</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Place the joints of a job file</source>
        <translation>Ubicar las juntas de un archivo de trabajo</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>A job file that is there already, with all that the job needs.</source>
        <translation>Un archivo de trabajo que ya existe, con todo lo que el trabajo necesita.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Log with remarks, for the contractor</source>
        <translation>Bitácora con observaciones, para el contratista</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>The log's own cells, with a column of remarks on what is wrong and what is expected.</source>
        <translation>Las celdas de la propia bitácora, con una columna de lo que está mal y lo que se espera.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>In a group of their own, with styles and relations.</source>
        <translation>En un grupo propio, con estilos y relaciones.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Placed job, where not the job file's own</source>
        <translation>Trabajo ubicado, si no es el del archivo de trabajo</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Placed job</source>
        <translation>Trabajo ubicado</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Logs with remarks that were written</source>
        <translation>Bitácoras con observaciones que se escribieron</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Left out, the one that the job file names.</source>
        <translation>Si se omite, el que nombra el archivo de trabajo.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>The placed job is in a temporary file, which goes when this program is closed.</source>
        <translation>El trabajo ubicado está en un archivo temporal, que desaparece al cerrar este programa.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0} cannot be both the job file and what is written by it; name another file</source>
        <translation>{0} no puede ser a la vez el archivo de trabajo y lo que se escribe con él; indique otro archivo</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0}: the column '{1}' is read as {2}.</source>
        <translation>{0}: la columna '{1}' se lee como {2}.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0}: the column '{1}' is not read.</source>
        <translation>{0}: la columna '{1}' no se lee.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Written: {0}</source>
        <translation>Escrito: {0}</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Inspections</source>
        <translation>Inspecciones</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Photos</source>
        <translation>Fotos</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Deflection</source>
        <translation>Deflexión</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Photo</source>
        <translation>Foto</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Place and numbers</source>
        <translation>Lugar y números</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Joint, route, station</source>
        <translation>Junta, ruta, estación</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>That is</source>
        <translation>Es decir</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>degrees</source>
        <translation>grados</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>if</source>
        <translation>si</translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Row {0} of {1}: correct it, save the layer's changes, and place again.</source>
        <translation>Fila {0} de {1}: corríjala, guarde los cambios de la capa y ubique otra vez.</translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Looking for row {0} of {1} ...</source>
        <translation>Buscando la fila {0} de {1} ...</translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Opened {0}: go to row {1}.</source>
        <translation>Se abrió {0}: vaya a la fila {1}.</translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Saving writes the file anew as a whole: keep a copy of what the crew handed in.</source>
        <translation>Al guardar se escribe de nuevo el archivo entero: conserve una copia de lo que entregó la cuadrilla.</translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Row {0} of {1} is not in the layer, or its filter leaves it out.</source>
        <translation>La fila {0} de {1} no está en la capa, o su filtro la deja fuera.</translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Row {0} of {1} cannot be changed here: correct it in {2}.</source>
        <translation>La fila {0} de {1} no se puede cambiar aquí: corríjala en {2}.</translation>
    </message>
    <message>
        <location filename="../outputs.py"/>
        <source>{0} is read by this work, so it cannot be its output; name another file</source>
        <translation>{0} se lee en este trabajo, así que no puede ser su salida; indique otro archivo</translation>
    </message>
    <message>
        <location filename="../outputs.py"/>
        <source>{0} is being edited in the project, as the layer {1}: end that first, or name another file</source>
        <translation>{0} se está editando en el proyecto, como la capa {1}: termine eso primero, o nombre otro archivo</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>what was found when looking at it</source>
        <translation>lo que se encontró al mirarlo</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Takes the mark back: the finding is to be looked at again; the earlier marks are kept</source>
        <translation>Retira la marca: hay que mirar el hallazgo otra vez; las marcas anteriores se conservan</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>History of a joint</source>
        <translation>Historia de una junta</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>GeoPackage, or postgresql:// address</source>
        <translation>GeoPackage, o dirección postgresql://</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The register: where 'Load a placed job into the register' put the joints.</source>
        <translation>El registro: donde 'Cargar un trabajo ubicado en el registro' puso las juntas.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Point at a joint</source>
        <translation>Señalar una junta</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Then click on the map: shows the nearest joint.</source>
        <translation>Después haga clic en el mapa: muestra la junta más cercana.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Draw a rectangle</source>
        <translation>Dibujar un rectángulo</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Then drag on the map: lists the joints in it.</source>
        <translation>Después arrastre en el mapa: lista las juntas que contiene.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>A route's name; with Enter, its joints are listed.</source>
        <translation>Nombre de una ruta; con Intro se listan sus juntas.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>A joint's number; with Enter, it is looked up.</source>
        <translation>Número de una junta; con Intro se busca.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Joints found, nearest first.</source>
        <translation>Juntas encontradas, la más cercana primero.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Previous joint</source>
        <translation>Junta anterior</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The joint before this one along the route (Alt+Left)</source>
        <translation>La junta anterior a lo largo de la ruta (Alt+Izquierda)</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Next joint</source>
        <translation>Junta siguiente</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The joint after this one along the route (Alt+Right)</source>
        <translation>La junta siguiente a lo largo de la ruta (Alt+Derecha)</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Brings the joint to the middle of the map</source>
        <translation>Lleva la junta al centro del mapa</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Findings at the joints listed above; the next one is one key (Down) away.</source>
        <translation>Hallazgos en las juntas de arriba; el siguiente está a una tecla (Abajo).</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Next finding</source>
        <translation>Hallazgo siguiente</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The next finding that nobody has looked at</source>
        <translation>El siguiente hallazgo que nadie ha mirado</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Kept in the register with the finding</source>
        <translation>Se guarda en el registro con el hallazgo</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Mark as looked at</source>
        <translation>Marcar como visto</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Keeps the mark and the note in the register</source>
        <translation>Guarda la marca y la nota en el registro</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Open again</source>
        <translation>Reabrir</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>No joint there. Point nearer to one, or zoom in.</source>
        <translation>Ahí no hay ninguna junta. Señale más cerca de una, o acerque el mapa.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>No joint in there.</source>
        <translation>Ahí dentro no hay ninguna junta.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Asking the register ...</source>
        <translation>Consultando el registro ...</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The register has changed; look the joint up again.</source>
        <translation>El registro ha cambiado; busque la junta otra vez.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>All findings here have been looked at.</source>
        <translation>Todos los hallazgos de aquí ya se miraron.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Away</source>
        <translation>Distancia</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Looked at</source>
        <translation>Visto</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>No such joint in the register.</source>
        <translation>No hay tal junta en el registro.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Name the register first, in the field at the top.</source>
        <translation>Indique primero el registro, en el campo de arriba.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Marked in the register.</source>
        <translation>Marcado en el registro.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The register was changed; this is what it holds now.</source>
        <translation>El registro se cambió; esto es lo que contiene ahora.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>open again ({0})</source>
        <translation>reabierto ({0})</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The route has no joint beyond this one.</source>
        <translation>La ruta no tiene más juntas después de esta.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>{0} is asked from now on: a job was loaded into it.</source>
        <translation>Desde ahora se consulta {0}: se cargó un trabajo en él.</translation>
    </message>
    <message>
        <location filename="../placed_file.py"/>
        <source>{0} was placed by an earlier version (asbuilt {1}): place the job again.</source>
        <translation>{0} se ubicó con una versión anterior (asbuilt {1}): ubique el trabajo otra vez.</translation>
    </message>
    <message>
        <location filename="../placed_file.py"/>
        <source>{0} was placed by a later version (asbuilt {1}): install the plugin of that version.</source>
        <translation>{0} se ubicó con una versión posterior (asbuilt {1}): instale el complemento de esa versión.</translation>
    </message>
    <message>
        <location filename="../placed_file.py"/>
        <source>{0} was changed after it was placed: {1} has {2} rows, not the {3} of the job. Place it again.</source>
        <translation>{0} se cambió después de ubicarse: {1} tiene {2} filas, no las {3} del trabajo. Ubíquelo otra vez.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Merges a placed job into the register of the utility's joints: known joints are brought up to date and keep their history, new ones are added, and what contradicts the register is listed and left out. Loading the same job again changes nothing.

The register is a GeoPackage, made if it is not there yet, or a database named as postgresql://...</source>
        <translation>Une un trabajo ubicado con el registro de juntas del servicio: las conocidas se actualizan y conservan su historia, las nuevas se añaden, y lo que contradice al registro se lista y se deja fuera. Cargar otra vez el mismo trabajo no cambia nada.

El registro es un GeoPackage, que se crea si aún no existe, o una base de datos indicada como postgresql://...</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Main that this one was laid in place of: a route, or a part of one, such as: A 12+00..14+00</source>
        <translation>Tubería en cuyo lugar se tendió esta: una ruta, o parte de una, como: A 12+00..14+00</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Compare two placings of a job</source>
        <translation>Comparar dos ubicaciones de un trabajo</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Says what is different between an earlier and a later placed file of one job: joints that came, went, moved or changed, findings and rows set aside that came and went; as a page and a workbook, if wanted.</source>
        <translation>Dice qué es distinto entre un archivo ubicado anterior y uno posterior del mismo trabajo: juntas que llegaron, se fueron, se movieron o cambiaron, hallazgos y filas apartadas que llegaron y se fueron; si se pide, como página y como libro de cálculo.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Write the engineer's review</source>
        <translation>Escribir la revisión para el ingeniero</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Writes pages for the reviewing engineer, one for each route and an index: deflection along the route against the allowable, plan and profile, and tables of what to look at. They open in a browser without a network.</source>
        <translation>Escribe páginas para el ingeniero revisor, una por ruta y un índice: deflexión a lo largo de la ruta frente a la admisible, planta y perfil, y tablas de lo que hay que mirar. Se abren en un navegador sin red.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Register</source>
        <translation>Registro</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>A GeoPackage, or a database named as postgresql://user@host/name.</source>
        <translation>Un GeoPackage, o una base de datos indicada como postgresql://user@host/name.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Any layer of a placed job, such as its joints, or its GeoPackage; the whole file is read.</source>
        <translation>Cualquier capa de un trabajo ubicado, como sus juntas, o su GeoPackage; se lee todo el archivo.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Nothing is changed.</source>
        <translation>No se cambia nada.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Main</source>
        <translation>Tubería</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Main that the job's routes belong to: their names stand under its own.</source>
        <translation>Tubería a la que pertenecen las rutas del trabajo: sus nombres van bajo el de ella.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Takes the place of</source>
        <translation>Sustituye a</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>In a group of their own, with styles and relations; of a register that is a GeoPackage.</source>
        <translation>En un grupo propio, con estilos y relaciones; de un registro que es un GeoPackage.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Moves up to this far are not listed</source>
        <translation>Los desplazamientos hasta aquí no se dicen</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>With its unit: 0.05ft, 0.02m.</source>
        <translation>Con su unidad: 0.05ft, 0.02m.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>The job has another name now</source>
        <translation>El trabajo ahora tiene otro nombre</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Compares them although their names differ.</source>
        <translation>Los compara aunque sus nombres sean distintos.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Only this route; all, if left out.</source>
        <translation>Solo esta ruta; todas, si se omite.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Also print the pages to PDF</source>
        <translation>Imprimir también las páginas en PDF</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Needs the browser Chromium on this machine.</source>
        <translation>Necesita el navegador Chromium en este equipo.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Also write each plot as a picture</source>
        <translation>Escribir también cada gráfico como imagen</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>SVG and PNG, for a report of your own.</source>
        <translation>SVG y PNG, para un informe propio.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Open the register's layers in the project</source>
        <translation>Abrir las capas del registro en el proyecto</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Earlier placed file</source>
        <translation>Archivo ubicado anterior</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Later placed file</source>
        <translation>Archivo ubicado posterior</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>A GeoPackage that 'Place joints on the map' wrote.</source>
        <translation>Un GeoPackage que escribió 'Ubicar las juntas en el mapa'.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Page of the differences</source>
        <translation>Página de las diferencias</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Workbook of the differences</source>
        <translation>Libro de cálculo de las diferencias</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>What is different, as JSON</source>
        <translation>Lo que es distinto, como JSON</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Folder of the pages</source>
        <translation>Carpeta de las páginas</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>First page</source>
        <translation>Primera página</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Placed job: {0}</source>
        <translation>Trabajo ubicado: {0}</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Page</source>
        <translation>Página</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Any file</source>
        <translation>Cualquier archivo</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>{0} is not a layer of a GeoPackage: choose a layer that 'Place joints on the map' wrote.</source>
        <translation>{0} no es una capa de un GeoPackage: elija una que haya escrito 'Ubicar las juntas en el mapa'.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>The input</source>
        <translation>La entrada</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Register {0}</source>
        <translation>Registro {0}</translation>
    </message>
    <message>
        <location filename="../placed_job_widget.py"/>
        <source>Choose a placed job</source>
        <translation>Elija un trabajo ubicado</translation>
    </message>
    <message>
        <location filename="../placed_job_widget.py"/>
        <source>The GeoPackage of a job that is not open</source>
        <translation>El GeoPackage de un trabajo que no está abierto</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Shows or hides the panel with what a placed job's records and survey give cause to look at</source>
        <translation>Muestra u oculta el panel con lo que hay que mirar en las anotaciones y el levantamiento de un trabajo ubicado</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Shows or hides the panel with what the register knows about a joint</source>
        <translation>Muestra u oculta el panel con lo que el registro sabe de una junta</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Search page in the browser</source>
        <translation>Página de búsqueda en el navegador</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>End the search page</source>
        <translation>Terminar la página de búsqueda</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Findings on a sheet ...</source>
        <translation>Hallazgos en una hoja ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Help</source>
        <translation>Ayuda</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Settings ...</source>
        <translation>Configuración ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Joint records</source>
        <translation>Juntas de tubería</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>The asbuilt command is not here yet.</source>
        <translation>El comando asbuilt todavía no está.</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Set up the environment ...</source>
        <translation>Instalar el entorno ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>The search page has ended.</source>
        <translation>La página de búsqueda terminó.</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Place joints ...</source>
        <translation>Ubicar juntas ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Check a joint log ...</source>
        <translation>Comprobar una bitácora de juntas ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Place the joints of a job file ...</source>
        <translation>Ubicar las juntas de un archivo de trabajo ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Write a blank log ...</source>
        <translation>Escribir una bitácora en blanco ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Write the engineer's review ...</source>
        <translation>Escribir la revisión para el ingeniero ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Load into the register ...</source>
        <translation>Cargar en el registro ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Find joints ...</source>
        <translation>Buscar juntas ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Open the layers of a placed job first.</source>
        <translation>Abra primero las capas de un trabajo ubicado.</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Set it up now?</source>
        <translation>¿Instalarlo ahora?</translation>
    </message>
    <message>
        <location filename="../register.py"/>
        <source>The area cannot be handed to asbuilt: {0}</source>
        <translation>El área no se puede pasar a asbuilt: {0}</translation>
    </message>
    <message>
        <location filename="../register_widget.py"/>
        <source>Register: one that is there, or the name of a new one</source>
        <translation>Registro: uno que existe, o el nombre de uno nuevo</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Undo a load of the register</source>
        <translation>Deshacer una carga del registro</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Takes out of the register what a load brought, and brings back what stood before it. The number of the load stands at the end of the log when a job is loaded. The record of it stays.</source>
        <translation>Saca del registro lo que trajo una carga y devuelve lo que valía antes. El número de la carga está al final de los mensajes cuando se carga un trabajo. Queda anotado que existió.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Lists the joints that loads left out because they contradict the register. With a decision it settles those that are named: the register's joints stay, or the job's take their place, or the job gets a main of its own. Each decision is kept with your name and the note.</source>
        <translation>Lista las juntas que las cargas dejaron fuera porque contradicen al registro. Con una decisión se resuelven las indicadas: quedan las del registro, o las del trabajo ocupan su lugar, o el trabajo recibe una tubería propia. Cada decisión se guarda con su nombre y la nota.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>ours: the register's stay; theirs: the job's are taken; main: the job is a main of its own.</source>
        <translation>ours: quedan las del registro; theirs: se toman las del trabajo; main: el trabajo es una tubería propia.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Note that a main is out of service</source>
        <translation>Anotar que una tubería está fuera de servicio</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Notes in the register that the joints of a main, or of a part of it, are abandoned, replaced, or in service again. The joints stay, and every answer says what became of them.</source>
        <translation>Anota en el registro que las juntas de una tubería, o de parte de ella, están abandonadas, sustituidas o de nuevo en servicio. Las juntas quedan, y cada respuesta dice qué fue de ellas.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Tell what is in the register</source>
        <translation>Decir qué hay en el registro</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Tells which jobs and mains are in the register, how complete their inspections are, which joints are out of service, and how many wait to be settled. Nothing is changed.</source>
        <translation>Dice qué trabajos y tuberías hay en el registro, qué tan completas están sus inspecciones, qué juntas están fuera de servicio y cuántas esperan que las resuelvan. No se cambia nada.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Number of the load</source>
        <translation>Número de la carga</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>As the log said when the job was loaded.</source>
        <translation>Como se dijo al cargar el trabajo.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Decision</source>
        <translation>Decisión</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>A route of the register, or a part of one by its stations, such as: A 12+00..14+00</source>
        <translation>Una ruta del registro, o parte de una por sus estaciones, como: A 12+00..14+00</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>What became of it</source>
        <translation>Qué fue de ella</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Of all joints of the main, or of that part.</source>
        <translation>De todas las juntas de la tubería, o de esa parte.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Job</source>
        <translation>Trabajo</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Only joints of this job; needed to settle.</source>
        <translation>Solo juntas de este trabajo; hace falta para resolver.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Only joints of this route of the job.</source>
        <translation>Solo juntas de esta ruta del trabajo.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Only this joint of the job.</source>
        <translation>Solo esta junta del trabajo.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Name of the main</source>
        <translation>Nombre de la tubería</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>For the decision 'main'.</source>
        <translation>Para la decisión 'main'.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Why it was settled so.</source>
        <translation>Por qué se resolvió así.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Placed file of the job</source>
        <translation>Archivo ubicado del trabajo</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Only where it is no longer where it was.</source>
        <translation>Solo si ya no está donde estaba.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>What is to be known of it, such as how it was filled.</source>
        <translation>Lo que hay que saber de ella, como con qué se rellenó.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>{0}: {1} joints are noted as {2}.</source>
        <translation>{0}: {1} juntas quedan anotadas como {2}.</translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Joints</source>
        <translation>Juntas</translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Restraint</source>
        <translation>Juntas restringidas</translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Pressure tests</source>
        <translation>Pruebas de presión</translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Segments</source>
        <translation>Segmentos</translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Run</source>
        <translation>Ejecución</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} of {1} joints are there already; {2} would be added and {3} changed. Nothing was written.</source>
        <translation>{0} de {1} juntas ya están; se añadirían {2} y se cambiarían {3}. No se escribió nada.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} of {1} joints were there already; {2} were added and {3} changed.</source>
        <translation>{0} de {1} juntas ya estaban; se añadieron {2} y se cambiaron {3}.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Job {0}: of {1} joints, the records of {2} are complete, {3} incomplete, {4} failed; {5} have none.</source>
        <translation>Trabajo {0}: de {1} juntas, los registros de {2} están completos, {3} incompletos, {4} no aprobados; {5} no tienen ninguno.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Nothing was changed; this is what a load would do.</source>
        <translation>No se cambió nada; esto es lo que haría una carga.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Nothing was changed; this is what undoing would do.</source>
        <translation>No se cambió nada; esto es lo que haría deshacerla.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>No joint waits to be settled.</source>
        <translation>Ninguna junta espera que la resuelvan.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Layer {0} of {1}:</source>
        <translation>Capa {0} de {1}:</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} records were read; {1} were placed and {2} were set aside.</source>
        <translation>Se leyeron {0} anotaciones; {1} se ubicaron y {2} se apartaron.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>They are {0} joints, on {1} of {2} routes.</source>
        <translation>Son {0} juntas, en {1} de {2} rutas.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>There are {0} findings to look at.</source>
        <translation>Hay {0} hallazgos que mirar.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints were read: {1} new, {2} changed, {3} unchanged, {4} left out.</source>
        <translation>Se leyeron {0} juntas: {1} nuevas, {2} cambiadas, {3} sin cambio, {4} dejadas fuera.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} inspections were read: {1} new, {2} unchanged, {3} left out; {4} earlier ones are superseded.</source>
        <translation>Se leyeron {0} inspecciones: {1} nuevas, {2} sin cambio, {3} dejadas fuera; {4} anteriores quedan superadas.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} findings were read: {1} new; {2} earlier ones are superseded.</source>
        <translation>Se leyeron {0} hallazgos: {1} nuevos; {2} anteriores quedan superados.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>The register was not changed.</source>
        <translation>El registro no se cambió.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Load {0} of the job '{1}': {2} joints are taken out, {3} are as they were before it.</source>
        <translation>Carga {0} del trabajo '{1}': {2} juntas se sacan, {3} quedan como antes de ella.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} inspections are undone, {1} stand again.</source>
        <translation>{0} inspecciones se deshacen, {1} valen otra vez.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints of {1} jobs wait to be settled:</source>
        <translation>{0} juntas de {1} trabajos esperan que las resuelvan:</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints of the job '{1}' are settled.</source>
        <translation>{0} juntas del trabajo '{1}' quedan resueltas.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0}: {1} joints and {2} inspections, in {3}.</source>
        <translation>{0}: {1} juntas y {2} inspecciones, en {3}.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Note: {0}</source>
        <translation>Aviso: {0}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints contradict the register and wait to be settled: {1}</source>
        <translation>{0} juntas contradicen al registro y esperan que las resuelvan: {1}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>The job says nothing of joints that it brought earlier; they stay: {0}</source>
        <translation>El trabajo no dice nada de juntas que trajo antes; quedan: {0}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints of the main that was replaced are out of service.</source>
        <translation>{0} juntas de la tubería sustituida quedan fuera de servicio.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>This is load {0}; by that number it can be undone.</source>
        <translation>Esta es la carga {0}; con ese número se puede deshacer.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Undone with it: load {0}, of which all joints were left out for it; theirs stand under a main.</source>
        <translation>Deshecha con ella: la carga {0}, cuyas juntas quedaron todas fuera por ella; están bajo una tubería propia.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints still wait.</source>
        <translation>{0} juntas siguen en espera.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Route {0}: {1}</source>
        <translation>Ruta {0}: {1}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>and {0} more</source>
        <translation>y {0} más</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints are {1}: {2}</source>
        <translation>{0} juntas están {1}: {2}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints wait to be settled.</source>
        <translation>{0} juntas esperan que las resuelvan.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} set aside as {1}: {2}</source>
        <translation>{0} apartadas como {1}: {2}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} judged {1}: {2}</source>
        <translation>{0} juzgadas {1}: {2}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} of {1}: {2}</source>
        <translation>{0} de {1}: {2}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>The register {0} was made.</source>
        <translation>Se creó el registro {0}.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Job '{0}', route {1}, joint {2}: {3}</source>
        <translation>Trabajo '{0}', ruta {1}, junta {2}: {3}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Main {0}: {1} joints, inspected from {2} to {3}.</source>
        <translation>Tubería {0}: {1} juntas, inspeccionadas del {2} al {3}.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} of these share a turn with others, and one or more of them all is over</source>
        <translation>{0} de ellas comparten un giro con otras; de todas ellas, una o más lo superan</translation>
    </message>
    <message>
        <location filename="../serving.py"/>
        <source>Name the register first, in the plugin's settings.</source>
        <translation>Indique primero el registro, en la configuración del complemento.</translation>
    </message>
    <message>
        <location filename="../serving.py"/>
        <source>The search page cannot be started.</source>
        <translation>La página de búsqueda no se puede iniciar.</translation>
    </message>
    <message>
        <location filename="../serving.py"/>
        <source>The search page is at {0}, on this machine alone.</source>
        <translation>La página de búsqueda está en {0}, solo en este equipo.</translation>
    </message>
    <message>
        <location filename="../serving.py"/>
        <source>The search page has ended: {0}</source>
        <translation>La página de búsqueda terminó: {0}</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Joint records: settings</source>
        <translation>Juntas de tubería: configuración</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>the plugin's own environment</source>
        <translation>el entorno propio del complemento</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>The asbuilt command; blank for the environment that the plugin made.</source>
        <translation>El comando asbuilt; en blanco, el entorno que creó el complemento.</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>The register that the panel asks: a GeoPackage, or a postgresql:// address.</source>
        <translation>El registro que consulta el panel: un GeoPackage, o una dirección postgresql://.</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Your name, as it stands with the findings that you mark as looked at.</source>
        <translation>Su nombre, como figura con los hallazgos que marca como vistos.</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Makes a virtual environment in your profile and installs the command there.</source>
        <translation>Crea un entorno virtual en su perfil e instala allí el comando.</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Command</source>
        <translation>Comando</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Your name</source>
        <translation>Su nombre</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Ready: {0}</source>
        <translation>Listo: {0}</translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Set up the asbuilt environment</source>
        <translation>Instalar el entorno de asbuilt</translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Makes a virtual environment in your profile and installs the asbuilt command there, with its libraries; the host's own libraries stay as they are. Needed once, and again after the plugin was updated.

It takes a minute or two, a network connection to a Python package index, and Python 3.11 or later.</source>
        <translation>Crea un entorno virtual en su perfil e instala allí el comando asbuilt con sus bibliotecas; las del SIG quedan como están. Hace falta una vez, y otra cuando se actualiza el complemento.

Tarda uno o dos minutos y necesita conexión de red a un índice de paquetes de Python, y Python 3.11 o posterior.</translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Python interpreter</source>
        <translation>Intérprete de Python</translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Of version 3.11 or later; looked for, if left out.</source>
        <translation>De la versión 3.11 o posterior; se busca, si se omite.</translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>The command</source>
        <translation>El comando</translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Its version</source>
        <translation>Su versión</translation>
    </message>
    <message>
        <location filename="../sheet_layout.py"/>
        <source>Findings of {0}</source>
        <translation>Hallazgos de {0}</translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} is filtered: the map shows {1} of {2} rows; the lists here show all.</source>
        <translation>{0} está filtrada: el mapa muestra {1} de {2} filas; las listas de aquí las muestran todas.</translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} is being edited: a placed file is not mended by hand. Correct the log, and place it again.</source>
        <translation>{0} se está editando: un archivo ubicado no se corrige a mano. Corrija la bitácora y ubique otra vez.</translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} has changes that are not saved in {1}: they are not in here.</source>
        <translation>{0} tiene cambios que no están guardados en {1}: no están aquí.</translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} was written to since: this is of the file as it was before. Place the job again.</source>
        <translation>Se ha escrito en {0} desde entonces: esto es del archivo como estaba antes. Ubique el trabajo otra vez.</translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} was written to since, if only by this program when a layer of it was put in edit: this is of the file as it was before. Place the job again.</source>
        <translation>Se ha escrito en {0} desde entonces, aunque solo fuera por este programa al poner en edición una capa suya: esto es del archivo como estaba antes. Ubique el trabajo otra vez.</translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} is not where it was: whether it has changed since cannot be told.</source>
        <translation>{0} ya no está donde estaba: no se puede saber si ha cambiado desde entonces.</translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>{0!r} cannot be read as a station; write it like 12+34.56</source>
        <translation>{0!r} no se puede leer como estación; escríbala como 12+34.56</translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>the stations of this job are plain numbers; {0!r} has a plus</source>
        <translation>las estaciones de este trabajo son números sin más; {0!r} tiene un signo más</translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>there is no station {0} on this route</source>
        <translation>no hay estación {0} en esta ruta</translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>the station occurs more than once; write {0}</source>
        <translation>la estación aparece más de una vez; escriba {0}</translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source> or </source>
        <translation> o </translation>
    </message>
    <message>
        <location filename="../tasks.py"/>
        <source>Joint records: {0}</source>
        <translation>Juntas de tubería: {0}</translation>
    </message>
    <message>
        <location filename="../words.py"/>
        <source>Not for locating. Before digging: locate request and trench protection. Isolate and depressurize the main before moving a joint. Local codes, the site's safety plan and a licensed engineer govern.</source>
        <translation>No sirve para localizar tuberías. Antes de excavar: pida la localización de servicios y proteja la zanja. Aísle y despresurice la tubería antes de mover una junta. Rigen las normas locales, el plan de seguridad de la obra y un ingeniero colegiado.</translation>
    </message>
    <message>
        <location filename="../words.py"/>
        <source>These are findings on records, not an acceptance of work. Limits come from the approved submittal and the project's specification; local codes and the pipe maker's instructions govern, and the judgement is a licensed engineer's.</source>
        <translation>Son hallazgos sobre anotaciones, no una recepción de obra. Los límites vienen del documento aprobado y de la especificación del proyecto; rigen las normas locales y las instrucciones del fabricante del tubo, y juzga un ingeniero colegiado.</translation>
    </message>
    <message>
        <location filename="../../data/styles/findings.qml"/>
        <source>Act</source>
        <translation>Actuar</translation>
    </message>
    <message>
        <location filename="../../data/styles/findings.qml"/>
        <source>Check</source>
        <translation>Revisar</translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Over the allowable</source>
        <translation>Por encima de lo admisible</translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Survey cannot tell</source>
        <translation>El levantamiento no permite decirlo</translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>No allowable on file</source>
        <translation>Sin valor admisible registrado</translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Within, if what it assumes holds</source>
        <translation>Dentro, si se cumple lo que supone</translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Within the allowable</source>
        <translation>Dentro de lo admisible</translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Not computed (end of route)</source>
        <translation>No calculado (extremo de la ruta)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joint ID</source>
        <translation>Identificador de la junta</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance</source>
        <translation>Distancia</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Easting</source>
        <translation>Coordenada este</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Northing</source>
        <translation>Coordenada norte</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Elevation</source>
        <translation>Cota</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Longitude</source>
        <translation>Longitud geográfica</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Latitude</source>
        <translation>Latitud geográfica</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Size</source>
        <translation>Diámetro nominal</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joint type</source>
        <translation>Tipo de junta</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Kind</source>
        <translation>Clase</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Restrained</source>
        <translation>Restringida</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Position from</source>
        <translation>Posición según</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Position sigma</source>
        <translation>Desviación típica de la posición</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Accuracy, horizontal</source>
        <translation>Exactitud, horizontal</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Accuracy, vertical</source>
        <translation>Exactitud, vertical</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Accuracy found by</source>
        <translation>Exactitud determinada por</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Turn (deg)</source>
        <translation>Giro (grados)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Turn, horizontal (deg)</source>
        <translation>Giro, horizontal (grados)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Turn, vertical (deg)</source>
        <translation>Giro, vertical (grados)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Bend angle (deg)</source>
        <translation>Ángulo del codo (grados)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection (deg)</source>
        <translation>Deflexión (grados)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection from</source>
        <translation>Deflexión según</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection, at least (deg)</source>
        <translation>Deflexión, como mínimo (grados)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection, at most (deg)</source>
        <translation>Deflexión, como máximo (grados)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection sigma (deg)</source>
        <translation>Desviación típica de la deflexión (grados)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Measured deflection (deg)</source>
        <translation>Deflexión medida (grados)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Measured direction (deg)</source>
        <translation>Dirección medida (grados)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Measured sigma (deg)</source>
        <translation>Desviación típica de la medida (grados)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Mean gap</source>
        <translation>Holgura media</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap residual</source>
        <translation>Residuo de las holguras</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Allowable (deg)</source>
        <translation>Admisible (grados)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Allowable from</source>
        <translation>Admisible según</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Verdict assumes</source>
        <translation>El dictamen supone</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Design station</source>
        <translation>Estación del proyecto</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Offset from design</source>
        <translation>Desplazamiento respecto al proyecto</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Height over design</source>
        <translation>Altura sobre el proyecto</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Ground</source>
        <translation>Terreno</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Cover</source>
        <translation>Recubrimiento</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Least cover</source>
        <translation>Recubrimiento mínimo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inspected on</source>
        <translation>Inspeccionado el</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>From joint</source>
        <translation>Desde la junta</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>To joint</source>
        <translation>Hasta la junta</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Length</source>
        <translation>Longitud</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Laid length</source>
        <translation>Longitud instalada</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Difference</source>
        <translation>Diferencia</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Azimuth (deg)</source>
        <translation>Acimut (grados)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Grade (%)</source>
        <translation>Pendiente (%)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Point</source>
        <translation>Punto</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Value</source>
        <translation>Valor</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Limit</source>
        <translation>Límite</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Unit</source>
        <translation>Unidad</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Basis</source>
        <translation>Fundamento</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Message</source>
        <translation>Mensaje</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Start station</source>
        <translation>Estación inicial</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Vertices</source>
        <translation>Vértices</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>From distance</source>
        <translation>Desde la distancia</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>To distance</source>
        <translation>Hasta la distancia</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Why</source>
        <translation>Por qué</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Named by</source>
        <translation>Indicado por</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Not restrained</source>
        <translation>Sin restringir</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Result</source>
        <translation>Resultado</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Sizes</source>
        <translation>Diámetros nominales</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pressure</source>
        <translation>Presión</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pressure unit</source>
        <translation>Unidad de presión</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Duration (h)</source>
        <translation>Duración (h)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Allowance</source>
        <translation>Volumen de agua admisible</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Make-up water</source>
        <translation>Agua de reposición</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Water unit</source>
        <translation>Unidad de agua</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Tested on</source>
        <translation>Probado el</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Record</source>
        <translation>Anotación</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Offset</source>
        <translation>Desplazamiento</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Outside diameter</source>
        <translation>Diámetro exterior</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pipe class</source>
        <translation>Clase de tubo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Cut</source>
        <translation>Cortado</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Bend plane</source>
        <translation>Plano del codo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Crew</source>
        <translation>Cuadrilla</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Groove clean</source>
        <translation>Ranura limpia</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Spigot clean</source>
        <translation>Espiga limpia</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gasket clean</source>
        <translation>Empaque limpio</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gasket temperature (F)</source>
        <translation>Temperatura del empaque (F)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gasket seated</source>
        <translation>Empaque asentado</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Lubricated</source>
        <translation>Lubricado</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Insertion mark</source>
        <translation>Marca de inserción</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge</source>
        <translation>Galga</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 12</source>
        <translation>Holgura a las 12</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 1</source>
        <translation>Holgura a la 1</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 2</source>
        <translation>Holgura a las 2</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 3</source>
        <translation>Holgura a las 3</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 4</source>
        <translation>Holgura a las 4</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 5</source>
        <translation>Holgura a las 5</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 6</source>
        <translation>Holgura a las 6</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 7</source>
        <translation>Holgura a las 7</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 8</source>
        <translation>Holgura a las 8</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 9</source>
        <translation>Holgura a las 9</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 10</source>
        <translation>Holgura a las 10</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 11</source>
        <translation>Holgura a las 11</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 12</source>
        <translation>Profundidad de la galga a las 12</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 1</source>
        <translation>Profundidad de la galga a la 1</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 2</source>
        <translation>Profundidad de la galga a las 2</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 3</source>
        <translation>Profundidad de la galga a las 3</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 4</source>
        <translation>Profundidad de la galga a las 4</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 5</source>
        <translation>Profundidad de la galga a las 5</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 6</source>
        <translation>Profundidad de la galga a las 6</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 7</source>
        <translation>Profundidad de la galga a las 7</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 8</source>
        <translation>Profundidad de la galga a las 8</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 9</source>
        <translation>Profundidad de la galga a las 9</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 10</source>
        <translation>Profundidad de la galga a las 10</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 11</source>
        <translation>Profundidad de la galga a las 11</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Bolt torque</source>
        <translation>Par de apriete de los pernos</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Remarks</source>
        <translation>Observaciones</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Photo files</source>
        <translation>Archivos de fotos</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Station settled by</source>
        <translation>Estación decidida por</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Latest</source>
        <translation>Más reciente</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Original row</source>
        <translation>Fila original</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>File version</source>
        <translation>Versión del archivo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Made at</source>
        <translation>Creado el</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Version</source>
        <translation>Versión</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Centerline system</source>
        <translation>Sistema del eje</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Map system</source>
        <translation>Sistema del mapa</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Datum step</source>
        <translation>Cambio de datum</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Surveyed on</source>
        <translation>Levantado el</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Station unit</source>
        <translation>Unidad de las estaciones</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Coordinate unit</source>
        <translation>Unidad de las coordenadas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Size unit</source>
        <translation>Unidad de los diámetros</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Reading unit</source>
        <translation>Unidad de las lecturas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Torque unit</source>
        <translation>Unidad de los pares de apriete</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Station format</source>
        <translation>Formato de las estaciones</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pipe described</source>
        <translation>Tubo descrito</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Records read</source>
        <translation>Anotaciones leídas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inspections placed</source>
        <translation>Inspecciones ubicadas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Records set aside</source>
        <translation>Anotaciones apartadas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Counts</source>
        <translation>Recuentos</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inputs</source>
        <translation>Entradas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Column matches</source>
        <translation>Correspondencia de columnas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Library versions</source>
        <translation>Versiones de las bibliotecas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Name of the route (main or line) in the centerline.</source>
        <translation>Nombre de la ruta (tubería o línea) en el eje.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joint number, as in the log; 'at' and the station where the log has no number.</source>
        <translation>Número de la junta, como en la bitácora; 'at' y la estación donde la bitácora no tiene número.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Station along the route, in station units; with BK or AH, and the equation's number, where it occurs more than once.</source>
        <translation>Estación a lo largo de la ruta, en la unidad de las estaciones; con BK o AH y el número de la ecuación donde aparece más de una vez.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Offset square to the centerline, in station units; right positive, looking ahead.</source>
        <translation>Desplazamiento perpendicular al eje, en la unidad de las estaciones; positivo a la derecha, mirando hacia adelante.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>What was laid: pipe, bend, tee, valve, reducer, sleeve, cap, or as the log says.</source>
        <translation>Lo que se instaló: pipe (tubo), bend (codo), tee (te), valve (válvula), reducer (reducción), sleeve (manguito), cap (tapón), o como diga la bitácora.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Nominal pipe size: inches, or DN in millimetres, as the job says.</source>
        <translation>Diámetro nominal del tubo: pulgadas, o DN en milímetros, según el trabajo.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Outside diameter of the pipe as logged, in the unit of its nominal size.</source>
        <translation>Diámetro exterior del tubo según la bitácora, en la unidad de su diámetro nominal.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joint family: push-on, restrained-push-on, mechanical, flanged, or one of the job's own.</source>
        <translation>Familia de junta: push-on (de enchufe), restrained-push-on (de enchufe, restringida), mechanical (mecánica), flanged (con bridas), o una propia del trabajo.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pressure or thickness class of the pipe, as logged.</source>
        <translation>Clase de presión o de espesor del tubo, según la bitácora.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Length of the pipe as laid, in station units.</source>
        <translation>Longitud del tubo tal como se instaló, en la unidad de las estaciones.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the pipe was cut.</source>
        <translation>Si el tubo se cortó.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the joint is restrained against pulling apart.</source>
        <translation>Si la junta está restringida contra la separación.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Angle of the fitting, degrees.</source>
        <translation>Ángulo del accesorio, en grados.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Plane in which the fitting turns: horizontal, vertical or rolled, as logged.</source>
        <translation>Plano en el que gira el accesorio: horizontal, vertical o rolled (girado), según la bitácora.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Date of the inspection.</source>
        <translation>Fecha de la inspección.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Who inspected the joint.</source>
        <translation>Quién inspeccionó la junta.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Crew that laid the pipe.</source>
        <translation>Cuadrilla que instaló el tubo.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the bell's gasket groove was clean.</source>
        <translation>Si la ranura del empaque en la campana estaba limpia.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the spigot was clean back to the insertion marks.</source>
        <translation>Si la espiga estaba limpia hasta las marcas de inserción.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the gasket was clean.</source>
        <translation>Si el empaque estaba limpio.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Temperature of the gasket when fitted, degrees F.</source>
        <translation>Temperatura del empaque al colocarlo, en grados F.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the gasket was seated evenly in its groove.</source>
        <translation>Si el empaque estaba asentado por igual en su ranura.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether gasket and spigot were lubricated.</source>
        <translation>Si el empaque y la espiga estaban lubricados.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the spigot went in to its insertion mark.</source>
        <translation>Si la espiga entró hasta su marca de inserción.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the feeler gauge touched the gasket evenly all around.</source>
        <translation>Si la galga tocó el empaque por igual todo alrededor.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 12 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Distancia de la cara de la campana a la marca de inserción a las 12, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 1 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Distancia de la cara de la campana a la marca de inserción a la 1, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 2 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Distancia de la cara de la campana a la marca de inserción a las 2, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 3 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Distancia de la cara de la campana a la marca de inserción a las 3, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 4 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Distancia de la cara de la campana a la marca de inserción a las 4, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 5 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Distancia de la cara de la campana a la marca de inserción a las 5, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 6 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Distancia de la cara de la campana a la marca de inserción a las 6, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 7 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Distancia de la cara de la campana a la marca de inserción a las 7, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 8 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Distancia de la cara de la campana a la marca de inserción a las 8, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 9 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Distancia de la cara de la campana a la marca de inserción a las 9, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 10 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Distancia de la cara de la campana a la marca de inserción a las 10, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 11 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Distancia de la cara de la campana a la marca de inserción a las 11, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 12 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Profundidad a la que la galga tocó el empaque a las 12, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 1 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Profundidad a la que la galga tocó el empaque a la 1, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 2 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Profundidad a la que la galga tocó el empaque a las 2, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 3 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Profundidad a la que la galga tocó el empaque a las 3, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 4 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Profundidad a la que la galga tocó el empaque a las 4, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 5 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Profundidad a la que la galga tocó el empaque a las 5, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 6 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Profundidad a la que la galga tocó el empaque a las 6, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 7 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Profundidad a la que la galga tocó el empaque a las 7, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 8 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Profundidad a la que la galga tocó el empaque a las 8, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 9 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Profundidad a la que la galga tocó el empaque a las 9, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 10 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Profundidad a la que la galga tocó el empaque a las 10, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 11 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Profundidad a la que la galga tocó el empaque a las 11, mirando hacia adelante, en la unidad de las lecturas.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Torque of the bolts of a mechanical joint; as logged, unit as the job says.</source>
        <translation>Par de apriete de los pernos de una junta mecánica; según la bitácora, en la unidad del trabajo.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Easting that the log has for the joint, in the log's own coordinate system.</source>
        <translation>Coordenada este de la junta en la bitácora, en el sistema de coordenadas de esta.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Northing that the log has for the joint, in the log's own coordinate system.</source>
        <translation>Coordenada norte de la junta en la bitácora, en el sistema de coordenadas de esta.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Elevation that the log has for the joint, in the log's own unit.</source>
        <translation>Cota de la junta en la bitácora, en la unidad de esta.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Remarks of the crew or the inspector.</source>
        <translation>Observaciones de la cuadrilla o del inspector.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Photo numbers or files, as logged.</source>
        <translation>Números o archivos de las fotos, según la bitácora.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The turn between the surveyed straights</source>
        <translation>El giro entre los tramos rectos levantados</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gaps read around the joint</source>
        <translation>Holguras leídas alrededor de la junta</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Both, weighted by how sure they are</source>
        <translation>Ambos, ponderados según su certeza</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Over the allowable deflection</source>
        <translation>Por encima de la deflexión admisible</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Within the allowable deflection, as measured</source>
        <translation>Dentro de la deflexión admisible, según lo medido</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Within the allowable deflection only if what the verdict assumes holds</source>
        <translation>Dentro de la deflexión admisible solo si se cumple lo que el veredicto supone</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the joint is within or over</source>
        <translation>El levantamiento no permite decir si la junta está dentro o por encima</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>No allowable deflection is on file for this joint type and size</source>
        <translation>No hay deflexión admisible registrada para este tipo de junta y diámetro</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Not computed, as at an end of the route, where pipe lies on one side only</source>
        <translation>No calculado, como en un extremo de la ruta, donde solo hay tubo a un lado</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Something is wrong and needs action before the work is accepted</source>
        <translation>Algo está mal y requiere actuar antes de aceptar la obra</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Someone must look: the records are incomplete or contradict one another</source>
        <translation>Alguien debe revisar: las anotaciones están incompletas o se contradicen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>For information; nothing need be done</source>
        <translation>Para información; no hay que hacer nada</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Every required item was recorded, and none failed</source>
        <translation>Se anotaron todos los puntos exigidos y ninguno falló</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A required item was not recorded</source>
        <translation>No se anotó un punto exigido</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A recorded item did not pass</source>
        <translation>Un punto anotado no resultó conforme</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Nothing about the inspection was recorded</source>
        <translation>No se anotó nada de la inspección</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Placed on the centerline by its station</source>
        <translation>Ubicada en el eje por su estación</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Placed by its station, adjusted between ties of known station and coordinates</source>
        <translation>Ubicada por su estación, ajustada entre puntos de estación y coordenadas conocidas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Surveyed at the joint itself</source>
        <translation>Levantada en la propia junta</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The bends of the log lie at corners of another line, and not of its own</source>
        <translation>Los codos de la bitácora están en quiebres de otra línea, y no en los de la suya</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A survey shot lies off the line of the shots beside it</source>
        <translation>Un punto levantado queda fuera de la línea de los puntos contiguos</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Survey shots stand in another order than they lie in</source>
        <translation>Los puntos levantados están en un orden distinto de aquel en que se encuentran</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The line is as long as its log only in another unit</source>
        <translation>La línea solo mide lo mismo que su bitácora en otra unidad</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A bend of the log lies off the corner of its angle</source>
        <translation>Un codo de la bitácora no está en el quiebre de su ángulo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The stations are counted on past a station equation, as if it were not there</source>
        <translation>Las estaciones se siguieron contando más allá de una ecuación de estación, como si no existiera</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The stations of a run of rows run off the pipes laid</source>
        <translation>Las estaciones de una serie de filas se apartan de los tubos colocados</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The deflection is over the allowable</source>
        <translation>La deflexión supera la admisible</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The line turns to the other side than the bend that the log has there</source>
        <translation>La línea gira hacia el lado contrario al del codo que la bitácora tiene allí</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A pressure test took more make-up water than its allowance</source>
        <translation>Una prueba de presión tomó más agua de reposición de la admisible</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The joint is unrestrained within a length that must be restrained</source>
        <translation>La junta no está restringida dentro de un tramo que debe estarlo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>An inspection item did not pass</source>
        <translation>Un punto de la inspección no resultó conforme</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The joint lies farther right or left of the design than the job allows</source>
        <translation>La junta está más a la derecha o a la izquierda del proyecto de lo que permite el trabajo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The joint lies farther above or below the design than the job allows</source>
        <translation>La junta está más por encima o por debajo del proyecto de lo que permite el trabajo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A later record passes what had failed, and nothing shows that it was looked at again</source>
        <translation>Un registro posterior convierte un fallo en aprobado, y nada muestra que la junta se revisara de nuevo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The pipe has less cover than the job asks for</source>
        <translation>El tubo tiene menos recubrimiento del que exige el trabajo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The next joint is too far: joints are missing, or a station or length is wrong</source>
        <translation>La junta siguiente está demasiado lejos: faltan juntas, o una estación o longitud está equivocada</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The line turns where no joint is in the log</source>
        <translation>La línea gira donde no hay ninguna junta en la bitácora</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A pressure test was held at less pressure than the job requires</source>
        <translation>Una prueba de presión se hizo a menos presión de la que exige el trabajo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A pressure test was held for less time than the job requires</source>
        <translation>Una prueba de presión duró menos de lo que exige el trabajo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The spigot is in too far, or not far enough</source>
        <translation>La espiga entró demasiado en la campana, o no lo suficiente</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The feeler gauge went in to uneven depths: the gasket may be displaced</source>
        <translation>La galga entró a profundidades desiguales: el empaque puede estar desplazado</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Records of one joint and one day, or without days, give it different stations</source>
        <translation>Anotaciones de una junta y de un día, o sin día, le dan estaciones distintas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>One place was shot twice, and both shots are strung into the line</source>
        <translation>Un lugar se levantó dos veces, y ambos puntos forman parte de la línea</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The elevation of a survey shot cannot be that of the pipe</source>
        <translation>La cota de un punto levantado no puede ser la del tubo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Shots scatter less than their stated error allows: interpolated, smoothed or designed</source>
        <translation>Los puntos se dispersan menos de lo que permite su error declarado: interpolados, suavizados o de diseño</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The line turns back on itself, as no pipe does</source>
        <translation>La línea vuelve sobre sí misma, como no lo hace ninguna tubería</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A length of the line has no joint in the log, or was not shot</source>
        <translation>Un tramo de la línea no tiene juntas en la bitácora, o no se levantó</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joints lie off their shots alike: by the start station, a tie or a piece not logged</source>
        <translation>Hay juntas que quedan todas a la misma distancia de los puntos levantados, como con una estación inicial equivocada, un punto de estación conocida equivocado o una pieza que no está en el registro</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Survey and readings at the joint disagree about the deflection</source>
        <translation>El levantamiento y las lecturas en la junta no coinciden en la deflexión</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A required inspection item was not recorded</source>
        <translation>No se anotó un punto exigido de la inspección</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the deflection is within the allowable</source>
        <translation>El levantamiento no permite decir si la deflexión es admisible</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the joint lies near enough to the design line</source>
        <translation>El levantamiento no permite decir si la junta está bastante cerca del eje del proyecto</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the joint lies near enough to the design grade</source>
        <translation>El levantamiento no permite decir si la junta está bastante cerca de la rasante del proyecto</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the pipe has the cover that the job asks for</source>
        <translation>El levantamiento no permite decir si el tubo tiene el recubrimiento que exige el trabajo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A bend has no plane in the log; level or upright, it leaves its joints too much</source>
        <translation>Un codo no tiene plano en el registro; horizontal o vertical deja demasiado a sus juntas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A bend has no angle in the log, so what its joints take is not computed</source>
        <translation>Un codo no tiene ángulo en la bitácora, así que no se calcula lo que toman sus juntas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The insertion readings around the joint contradict one another</source>
        <translation>Las lecturas de inserción alrededor de la junta se contradicen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Readings are the same in more rows, one below the other, than chance makes</source>
        <translation>Las lecturas son iguales en más filas seguidas de las que produce el azar</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The gasket was colder than the job's limit when it was fitted</source>
        <translation>El empaque estaba más frío que el límite del trabajo al colocarlo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The bolt torque is outside the range for this size</source>
        <translation>El par de apriete de los pernos está fuera del intervalo para este diámetro</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>An entry is far from the others of its column: in another unit, or its point slipped</source>
        <translation>Una entrada está lejos de las demás de su columna, como en otra unidad o con la coma decimal corrida</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The next joint is nearer than a cut or fitting would explain</source>
        <translation>La junta siguiente está más cerca de lo que explicaría un corte o un accesorio</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The log has more than one record of this joint number</source>
        <translation>La bitácora tiene más de una anotación de este número de junta</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The joint number is out of order against the stations</source>
        <translation>El número de junta no sigue el orden de las estaciones</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The surveyed position and the station disagree</source>
        <translation>La posición levantada y la estación no coinciden</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The size changes without a reducer or tee in the log</source>
        <translation>El diámetro cambia sin que haya una reducción o una te en la bitácora</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The inspection date is before the work began, or in the future</source>
        <translation>La fecha de inspección es anterior al comienzo de la obra, o futura</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A pressure test's pressure or duration looks as if written in another unit</source>
        <translation>La presión o la duración de una prueba de presión parece escrita en otra unidad</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joints were inspected after the pressure test of their length</source>
        <translation>Hay juntas inspeccionadas después de la prueba de presión de su tramo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A length of the route is under no pressure test, or under one that cannot be judged</source>
        <translation>Un tramo de la ruta no tiene ninguna prueba de presión, o ninguna que se pueda juzgar</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A remark in the log has a word that may tell of trouble at the joint</source>
        <translation>Una observación de la bitácora tiene una palabra que puede indicar un problema en la junta</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A photo that the log names is not in the job's folders of photos</source>
        <translation>Una foto que nombra la bitácora no está en las carpetas de fotos del trabajo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>An entry of the log could not be read</source>
        <translation>Un dato de la bitácora no se pudo leer</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The station cannot be read</source>
        <translation>La estación no se puede leer</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>No station is given</source>
        <translation>No se indica ninguna estación</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The station lies beyond an end of the route</source>
        <translation>La estación queda más allá de un extremo de la ruta</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The offset from the line cannot be read</source>
        <translation>El desplazamiento respecto a la línea no se puede leer</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The station falls in the gap of a station equation, where no station exists</source>
        <translation>La estación cae en el hueco de una ecuación de estación, donde no existe ninguna</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The station occurs more than once on the route, and nothing tells which is meant</source>
        <translation>La estación aparece más de una vez en la ruta, y nada dice cuál se quiso indicar</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The route is not in the centerline, or none is given</source>
        <translation>La ruta no está en el eje, o no se indica ninguna</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The row does not fit the columns of its file</source>
        <translation>La fila no encaja con las columnas de su archivo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The row is struck through in its sheet, as void</source>
        <translation>La fila está tachada en su hoja, como nula</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The make-up water was within the testing allowance</source>
        <translation>El agua de reposición estuvo dentro del volumen admisible</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The make-up water was over the testing allowance</source>
        <translation>El agua de reposición superó el volumen admisible</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The test failed, and later tests passed the whole of its length</source>
        <translation>La prueba falló, y pruebas posteriores aprobaron todo su tramo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The test was held at less pressure, or for less time, than the job requires</source>
        <translation>La prueba se hizo a menos presión, o durante menos tiempo, de lo que exige el trabajo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The test was held below what the job requires; later tests passed its whole length</source>
        <translation>La prueba quedó por debajo de lo que exige el trabajo; pruebas posteriores aprobaron todo su tramo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The test cannot be judged: no make-up water, a size unknown, or a unit in doubt</source>
        <translation>La prueba no se puede juzgar: falta el agua de reposición o un diámetro, o una unidad es dudosa</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Under no test</source>
        <translation>Sin prueba</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Yes, or passed</source>
        <translation>Sí, o conforme</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>No, or failed</source>
        <translation>No, o no conforme</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inch</source>
        <translation>Pulgada</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Millimetre</source>
        <translation>Milímetro</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Foot-pound</source>
        <translation>Libra-pie</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Newton metre</source>
        <translation>Newton metro</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>As 12+34.56: two digits before the decimal point</source>
        <translation>Como 12+34.56: dos cifras antes del punto decimal</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>As 1+234.567: three digits before the decimal point</source>
        <translation>Como 1+234.567: tres cifras antes del punto decimal</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A plain decimal number</source>
        <translation>Un número decimal sin más</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A record describes the pipe laid ahead of its joint</source>
        <translation>Una anotación describe el tubo instalado delante de su junta, en el sentido de las estaciones</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A record describes the pipe laid back of its joint</source>
        <translation>Una anotación describe el tubo instalado detrás de su junta, en contra del sentido de las estaciones</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>US survey foot, 1200/3937 m</source>
        <translation>Pie de agrimensura de EE. UU., 1200/3937 m</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>International foot, 0.3048 m</source>
        <translation>Pie internacional, 0.3048 m</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Metre</source>
        <translation>Metro</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Stands</source>
        <translation>Vale</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Superseded by a later load of the same job, or by the joint's later state</source>
        <translation>Superado por una carga posterior del mismo trabajo, o por el estado posterior de la junta</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Its load was undone</source>
        <translation>Su carga se deshizo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The register's joint stays as it is; the one left out stays out</source>
        <translation>La junta del registro queda como está; la que se dejó fuera sigue fuera</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The one left out is the register's joint, and became its present state</source>
        <translation>La que se dejó fuera es la junta del registro, y pasó a ser su estado actual</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>In service, as a joint is unless something else was noted</source>
        <translation>En servicio, como toda junta si no se anotó otra cosa</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A main laid later took its place; the joint is out of service</source>
        <translation>Una tubería instalada después ocupó su lugar; la junta está fuera de servicio</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Out of service, and left in the ground</source>
        <translation>Fuera de servicio, y dejada en el terreno</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Someone looked at the finding</source>
        <translation>Alguien miró el hallazgo</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>To be looked at again</source>
        <translation>Hay que mirarlo otra vez</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inches</source>
        <translation>Pulgadas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Millimetres: the size is a DN</source>
        <translation>Milímetros: el diámetro es un DN</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the main curves one way between shots, no joint against the next</source>
        <translation>la tubería se curva en un solo sentido entre los puntos levantados, sin que una junta vaya contra la siguiente</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>no elevation was measured there: the pipe turns up or down no more than the elevations on either side show while it bends one way between them, and not at all where there are none</source>
        <translation>allí no se midió ninguna cota: el tubo no gira hacia arriba o hacia abajo más de lo que muestran las cotas a ambos lados si entre ellas se curva en un solo sentido, y nada donde no las hay</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the bend lies in the plane that the log gives or, where it gives none, in the one that leaves its two joints least, and both deflect the same way</source>
        <translation>el codo yace en el plano que da la bitácora o, donde no da ninguno, en el que menos deja a sus dos juntas, y ambas se desvían hacia el mismo lado</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>nothing of the line there was shot: it was drawn, is a design, or its shots are too even to be any, and the pipe lies on it</source>
        <translation>allí no se midió nada de la línea: fue dibujada, es un diseño o sus puntos son demasiado regulares para ser medidos, y el tubo yace sobre ella</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>no standard error of the shots is stated, and they are taken as without error</source>
        <translation>no se indica la desviación típica de los puntos levantados, y se toman como sin error</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the shots that stations put at joints are at them and not all beside them alike, which nothing else in the data tells</source>
        <translation>los puntos que las estaciones sitúan en las juntas están en ellas y no todos al lado por igual, lo que ningún otro dato muestra</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the allowable is as the job's own table has it, though that is far from the published one, or from what joints are known to take</source>
        <translation>la deflexión admisible es la de la tabla propia del trabajo, aunque esté lejos de la publicada o de lo que se sabe que admiten las juntas</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the stations start at that end of the line from which it is drawn, which nothing in the data tells</source>
        <translation>las estaciones empiezan en el extremo desde el que está dibujada la línea, lo que ningún dato muestra</translation>
    </message>
</context>
</TS>
