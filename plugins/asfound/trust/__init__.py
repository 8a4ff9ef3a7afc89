"""What to think of it: hazards and risk, reports and evidence, codes, vetting."""
