"""Records onto routes, and records gathered into joints."""
