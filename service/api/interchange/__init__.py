"""The catalogue in files: one CSV file a part kind, and JSON Lines of parts, vehicles and axles."""
