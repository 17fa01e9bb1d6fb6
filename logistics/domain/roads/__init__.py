"""Roads for heavy vehicles: which may be driven, snapping, tables and routes."""
