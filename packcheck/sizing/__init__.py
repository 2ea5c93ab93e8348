"""How big can it be: a param of the scene grown until something is missed, and what is proven between."""
