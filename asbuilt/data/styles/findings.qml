<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<!-- Findings by severity: open shapes of three sizes around the joint, so that the joint and each severity show;
     colours chosen by contrast and for all kinds of colour vision. -->
<qgis version="3.22" styleCategories="Symbology">
  <renderer-v2 type="categorizedSymbol" attr="severity" symbollevels="1" enableorderby="0" forceraster="0">
    <categories>
      <category value="act" label="Act" symbol="act" render="true"/>
      <category value="check" label="Check" symbol="check" render="true"/>
      <category value="note" label="Note" symbol="note" render="true"/>
    </categories>
    <symbols>
      <symbol type="marker" name="act" alpha="1" clip_to_extent="1">
        <layer class="SimpleMarker" pass="0" enabled="1">
          <Option type="Map">
            <Option type="QString" name="name" value="diamond"/>
            <Option type="QString" name="color" value="0,0,0,0"/>
            <Option type="QString" name="size" value="8.6"/>
            <Option type="QString" name="size_unit" value="MM"/>
            <Option type="QString" name="outline_color" value="255,255,255,170"/>
            <Option type="QString" name="outline_width" value="1"/>
            <Option type="QString" name="outline_width_unit" value="MM"/>
          </Option>
        </layer>
        <layer class="SimpleMarker" pass="3" enabled="1">
          <Option type="Map">
            <Option type="QString" name="name" value="diamond"/>
            <Option type="QString" name="color" value="0,0,0,0"/>
            <Option type="QString" name="size" value="8.6"/>
            <Option type="QString" name="size_unit" value="MM"/>
            <Option type="QString" name="outline_color" value="191,64,14,255"/>
            <Option type="QString" name="outline_width" value="0.7"/>
            <Option type="QString" name="outline_width_unit" value="MM"/>
          </Option>
        </layer>
      </symbol>
      <symbol type="marker" name="check" alpha="1" clip_to_extent="1">
        <layer class="SimpleMarker" pass="0" enabled="1">
          <Option type="Map">
            <Option type="QString" name="name" value="circle"/>
            <Option type="QString" name="color" value="0,0,0,0"/>
            <Option type="QString" name="size" value="5.8"/>
            <Option type="QString" name="size_unit" value="MM"/>
            <Option type="QString" name="outline_color" value="255,255,255,170"/>
            <Option type="QString" name="outline_width" value="1"/>
            <Option type="QString" name="outline_width_unit" value="MM"/>
          </Option>
        </layer>
        <layer class="SimpleMarker" pass="2" enabled="1">
          <Option type="Map">
            <Option type="QString" name="name" value="circle"/>
            <Option type="QString" name="color" value="0,0,0,0"/>
            <Option type="QString" name="size" value="5.8"/>
            <Option type="QString" name="size_unit" value="MM"/>
            <Option type="QString" name="outline_color" value="0,0,0,255"/>
            <Option type="QString" name="outline_width" value="0.4"/>
            <Option type="QString" name="outline_width_unit" value="MM"/>
          </Option>
        </layer>
      </symbol>
      <symbol type="marker" name="note" alpha="1" clip_to_extent="1">
        <layer class="SimpleMarker" pass="1" enabled="1">
          <Option type="Map">
            <Option type="QString" name="name" value="square"/>
            <Option type="QString" name="color" value="0,0,0,0"/>
            <Option type="QString" name="size" value="4.2"/>
            <Option type="QString" name="size_unit" value="MM"/>
            <Option type="QString" name="outline_color" value="87,92,253,255"/>
            <Option type="QString" name="outline_width" value="0.4"/>
            <Option type="QString" name="outline_width_unit" value="MM"/>
          </Option>
        </layer>
      </symbol>
    </symbols>
  </renderer-v2>
</qgis>
