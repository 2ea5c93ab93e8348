"""Measurements to points, frames and how sure they are: least-squares adjustment and what it tells."""
