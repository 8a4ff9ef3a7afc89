"""What a car is: vehicle lines, control modules, records, layouts, settings, conditions, bits and numbers."""
