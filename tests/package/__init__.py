"""The phone's package, as far as it can be proven without Android's build tools: nothing is compiled here."""
