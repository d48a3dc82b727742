"""Independent second methods, sharing no code with the library, that its answers are compared with."""
