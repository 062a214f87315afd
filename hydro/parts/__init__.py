"""The parts a build is made of, as they are bought and cut: sizes, joints, shopping list, cut list."""
