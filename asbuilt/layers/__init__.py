"""The layers on disk: GeoPackage, and files that appear whole or not at all."""
