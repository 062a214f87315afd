"""The names of a case file: what is declared, what 'same as' and '12 x' repeat, and what 'tank rim' means where it stands."""
