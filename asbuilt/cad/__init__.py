"""What was built, handed back to who draws: a drawing (DXF) and the alignment as it lies (LandXML)."""
