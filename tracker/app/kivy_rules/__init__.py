"""A `style.kv` with the rules of the few Kivy widgets that the app uses, read in place of Kivy's own."""
