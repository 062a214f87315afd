"""The text of a case file: the YAML tree with its lines, values with units, elements on one line, complaints."""
