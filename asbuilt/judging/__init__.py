"""What the joints' places and records say: deflection, readings, restraint, pressure tests, accuracy, checks."""
