<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<!-- Straights between joints: a thin neutral line under the joints, without labels, which keeps the joints' numbers off it. -->
<qgis version="3.22" styleCategories="Symbology|Labeling">
  <renderer-v2 type="singleSymbol" symbollevels="0" enableorderby="0" forceraster="0">
    <symbols>
      <symbol type="line" name="0" alpha="1" clip_to_extent="1">
        <layer class="SimpleLine" pass="0" enabled="1">
          <Option type="Map">
            <Option type="QString" name="line_color" value="90,90,90,255"/>
            <Option type="QString" name="line_width" value="0.35"/>
            <Option type="QString" name="line_width_unit" value="MM"/>
            <Option type="QString" name="capstyle" value="round"/>
          </Option>
        </layer>
      </symbol>
    </symbols>
  </renderer-v2>
  <labeling type="simple">
    <settings>
      <rendering drawLabels="0" obstacle="1" obstacleFactor="2"/>
    </settings>
  </labeling>
</qgis>
