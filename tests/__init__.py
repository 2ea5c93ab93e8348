"""Tests of packcheck, room by room."""
