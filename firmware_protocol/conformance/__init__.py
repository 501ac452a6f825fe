"""What any controller must pass, and the controllers to try it on."""
