"""Drawings where people would rather look than read: inline SVG, pure functions of plain data.

Each has a text alternative, or stands beside words that say the same. Colours come from the style sheet's
properties, so light, dark and print differ there alone; no state shows by colour alone. A function returns
empty Markup where its drawing would tell nothing.
"""
