"""From the readings of a scene to places in the car, and how well they are known."""
