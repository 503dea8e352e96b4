<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<!-- Routes: a broad dashed line that shows on both sides of the segments, with the route's name along it. -->
<qgis version="3.22" styleCategories="Symbology|Labeling">
  <renderer-v2 type="singleSymbol" symbollevels="0" enableorderby="0" forceraster="0">
    <symbols>
      <symbol type="line" name="0" alpha="1" clip_to_extent="1">
        <layer class="SimpleLine" pass="0" enabled="1">
          <Option type="Map">
            <Option type="QString" name="line_color" value="190,200,210,255"/>
            <Option type="QString" name="line_width" value="1.5"/>
            <Option type="QString" name="line_width_unit" value="MM"/>
            <Option type="QString" name="capstyle" value="flat"/>
            <Option type="QString" name="use_custom_dash" value="1"/>
            <Option type="QString" name="customdash" value="6;1.5"/>
            <Option type="QString" name="customdash_unit" value="MM"/>
          </Option>
        </layer>
      </symbol>
    </symbols>
  </renderer-v2>
  <labeling type="simple">
    <settings>
      <text-style fieldName="'Route ' || &quot;route&quot;" isExpression="1" fontWeight="50" fontSize="10" fontSizeUnit="Point" fontItalic="1" textColor="60,60,60,255" textOpacity="1">
        <text-buffer bufferDraw="1" bufferOpacity="1" bufferSize="0.8" bufferSizeUnits="MM" bufferColor="255,255,255,255"/>
      </text-style>
      <placement placement="2" placementFlags="10" dist="4" distUnits="MM" repeatDistance="150" repeatDistanceUnits="MM"/>
      <rendering scaleVisibility="0" displayAll="0" obstacle="0"/>
    </settings>
  </labeling>
</qgis>
