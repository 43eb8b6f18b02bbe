"""What more than one page asks in a sheet: numbers, days, files, entries, places, shades."""
