"""Estimates through the whole service: what a keeper states, and what comes out of it."""
