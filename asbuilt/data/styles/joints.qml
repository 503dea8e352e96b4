<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<!-- Joints by verdict: a colour, chosen by contrast and for all kinds of colour vision, and
     a shape of its own for each, drawn in the order of how much it matters; numbers from 1:1000 on. -->
<qgis version="3.22" styleCategories="Symbology|Labeling">
  <renderer-v2 type="categorizedSymbol" attr="verdict" symbollevels="1" enableorderby="0" forceraster="0">
    <categories>
      <category value="over" label="Over the allowable" symbol="over" render="true"/>
      <category value="cannot-tell" label="Survey cannot tell" symbol="cannot-tell" render="true"/>
      <category value="no-allowable" label="No allowable on file" symbol="no-allowable" render="true"/>
      <category value="within-assumed" label="Within, if what it assumes holds" symbol="within-assumed" render="true"/>
      <category value="within" label="Within the allowable" symbol="within" render="true"/>
      <category value="not-computed" label="Not computed (end of route)" symbol="not-computed" render="true"/>
    </categories>
    <symbols>
      <symbol type="marker" name="over" alpha="1" clip_to_extent="1">
        <layer class="SimpleMarker" pass="5" enabled="1">
          <Option type="Map">
            <Option type="QString" name="name" value="triangle"/>
            <Option type="QString" name="color" value="191,64,14,255"/>
            <Option type="QString" name="size" value="4.8"/>
            <Option type="QString" name="size_unit" value="MM"/>
            <Option type="QString" name="outline_color" value="255,255,255,255"/>
            <Option type="QString" name="outline_width" value="0.5"/>
            <Option type="QString" name="outline_width_unit" value="MM"/>
          </Option>
        </layer>
      </symbol>
      <symbol type="marker" name="cannot-tell" alpha="1" clip_to_extent="1">
        <layer class="SimpleMarker" pass="4" enabled="1">
          <Option type="Map">
            <Option type="QString" name="name" value="diamond"/>
            <Option type="QString" name="color" value="144,95,141,255"/>
            <Option type="QString" name="size" value="3.8"/>
            <Option type="QString" name="size_unit" value="MM"/>
            <Option type="QString" name="outline_color" value="255,255,255,255"/>
            <Option type="QString" name="outline_width" value="0.4"/>
            <Option type="QString" name="outline_width_unit" value="MM"/>
          </Option>
        </layer>
      </symbol>
      <symbol type="marker" name="no-allowable" alpha="1" clip_to_extent="1">
        <layer class="SimpleMarker" pass="3" enabled="1">
          <Option type="Map">
            <Option type="QString" name="name" value="square"/>
            <Option type="QString" name="color" value="183,136,80,255"/>
            <Option type="QString" name="size" value="2.7"/>
            <Option type="QString" name="size_unit" value="MM"/>
            <Option type="QString" name="outline_color" value="255,255,255,255"/>
            <Option type="QString" name="outline_width" value="0.4"/>
            <Option type="QString" name="outline_width_unit" value="MM"/>
          </Option>
        </layer>
      </symbol>
      <symbol type="marker" name="within" alpha="1" clip_to_extent="1">
        <layer class="SimpleMarker" pass="1" enabled="1">
          <Option type="Map">
            <Option type="QString" name="name" value="circle"/>
            <Option type="QString" name="color" value="87,92,253,255"/>
            <Option type="QString" name="size" value="2.2"/>
            <Option type="QString" name="size_unit" value="MM"/>
            <Option type="QString" name="outline_color" value="255,255,255,255"/>
            <Option type="QString" name="outline_width" value="0.4"/>
            <Option type="QString" name="outline_width_unit" value="MM"/>
          </Option>
        </layer>
      </symbol>
      <symbol type="marker" name="within-assumed" alpha="1" clip_to_extent="1">
        <layer class="SimpleMarker" pass="2" enabled="1">
          <Option type="Map">
            <Option type="QString" name="name" value="hexagon"/>
            <Option type="QString" name="color" value="255,255,255,255"/>
            <Option type="QString" name="size" value="2.8"/>
            <Option type="QString" name="size_unit" value="MM"/>
            <Option type="QString" name="outline_color" value="255,255,255,255"/>
            <Option type="QString" name="outline_width" value="1.5"/>
            <Option type="QString" name="outline_width_unit" value="MM"/>
          </Option>
        </layer>
        <layer class="SimpleMarker" pass="2" enabled="1">
          <Option type="Map">
            <Option type="QString" name="name" value="hexagon"/>
            <Option type="QString" name="color" value="43,154,214,0"/>
            <Option type="QString" name="size" value="2.8"/>
            <Option type="QString" name="size_unit" value="MM"/>
            <Option type="QString" name="outline_color" value="43,154,214,255"/>
            <Option type="QString" name="outline_width" value="0.7"/>
            <Option type="QString" name="outline_width_unit" value="MM"/>
          </Option>
        </layer>
      </symbol>
      <symbol type="marker" name="not-computed" alpha="1" clip_to_extent="1">
        <layer class="SimpleMarker" pass="0" enabled="1">
          <Option type="Map">
            <Option type="QString" name="name" value="cross_fill"/>
            <Option type="QString" name="color" value="0,0,0,255"/>
            <Option type="QString" name="size" value="3.8"/>
            <Option type="QString" name="size_unit" value="MM"/>
            <Option type="QString" name="outline_color" value="255,255,255,255"/>
            <Option type="QString" name="outline_width" value="0.4"/>
            <Option type="QString" name="outline_width_unit" value="MM"/>
          </Option>
        </layer>
      </symbol>
    </symbols>
  </renderer-v2>
  <labeling type="simple">
    <settings>
      <text-style fieldName="joint" isExpression="0" fontWeight="50" fontSize="8.5" fontSizeUnit="Point" textColor="0,0,0,255" textOpacity="1">
        <text-buffer bufferDraw="1" bufferOpacity="1" bufferSize="0.8" bufferSizeUnits="MM" bufferColor="255,255,255,255"/>
      </text-style>
      <placement placement="6" dist="4.5" distUnits="MM" predefinedPositionOrder="B,T,R,L"/>
      <rendering scaleVisibility="1" scaleMin="0" scaleMax="1000" displayAll="0" obstacle="1"/>
    </settings>
  </labeling>
</qgis>
