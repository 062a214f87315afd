"""Hydraulics of a tank and its sump: flows and levels running, what comes down in a power cut, what a blocked drain does."""
