"""What holds the pages: the root widget, the page, the sheet, the strip that answers."""
