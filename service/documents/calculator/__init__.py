"""The calculator: its form as data, what was asked of it, and the costing as texts to draw."""
