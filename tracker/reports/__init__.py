"""What leaves the phone: text, JSON, pictures of the screens."""
