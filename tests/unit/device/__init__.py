"""What the phone does for us, against a phone made of the stubs of its own API."""
