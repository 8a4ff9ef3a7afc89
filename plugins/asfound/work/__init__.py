"""What is done to a car: changes, edits, the frame of a job, the way back."""
