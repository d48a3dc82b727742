"""Where pistons stand, when cylinders fire, when lifters rest."""
