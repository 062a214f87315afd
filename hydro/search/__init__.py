"""Many builds instead of one: designs for what a file leaves open, the choice of a pump, remedies for what fails."""
