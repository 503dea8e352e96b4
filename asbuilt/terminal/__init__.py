"""What a person reads on a terminal."""
