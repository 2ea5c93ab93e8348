"""packcheck: does everything in the engine compartment fit, and how sure can that be?"""

__version__ = "0.1.0"
