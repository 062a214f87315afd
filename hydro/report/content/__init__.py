"""What is shown, as numbers and names without any layout: levels, flows, head budget, what is built alike."""
