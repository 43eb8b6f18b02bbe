"""Scenes of the app and drawing them without a display, for looking and for tests."""
