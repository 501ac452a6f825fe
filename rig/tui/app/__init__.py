"""The app: its screens, the palette, help, and leaving in good order."""
