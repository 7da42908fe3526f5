"""What an aquarium costs to keep running: worked out, explained and quoted."""

__version__ = "0.1.0"
