"""The plan form: what is entered, checked, changed, kept as a draft, shown, and saved."""
