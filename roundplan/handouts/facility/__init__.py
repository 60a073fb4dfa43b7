"""The facility's sheet: who goes, who stays, on one side of A4."""
