"""A build becomes waters and the links between them: the pipe network graph, its manifolds and the paths through it."""
