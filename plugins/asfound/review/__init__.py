"""Two books compared: what a pull request changes in the car, and what a reviewer must look at by hand."""
