"""A picture of a cartoon read, shown as it was understood, and corrected."""
