"""Every answer as data: JSON with the unit in its keys, CSV for a spreadsheet."""
