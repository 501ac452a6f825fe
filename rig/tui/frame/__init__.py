"""What every screen has: status, STOP, next step, prompts, and the scan guard."""
