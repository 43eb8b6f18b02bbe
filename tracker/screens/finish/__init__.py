"""When the rug is done."""
