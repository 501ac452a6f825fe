"""What is done with a rig, step by step. Tells of its progress; knows no screen."""
