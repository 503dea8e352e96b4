"""The register: joint history across jobs, kept in a GeoPackage or in PostGIS, and found by location."""
