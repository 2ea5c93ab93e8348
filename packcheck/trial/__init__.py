"""A part put elsewhere on trial, and what stands in its way there."""
