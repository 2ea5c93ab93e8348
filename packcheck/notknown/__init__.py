"""What is not known of where parts stand and of their surfaces, carried by the chain that carries their pose."""
