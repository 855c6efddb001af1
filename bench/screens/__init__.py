"""The Textual dashboard: shows, and passes keys on."""
