"""The words of the app in other languages: gettext catalogues and the command that keeps them."""
