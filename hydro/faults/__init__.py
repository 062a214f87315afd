"""What can fail by the elements' own word, what comes of each fault, and which running lines survive them all."""
