"""The page for the parts counter: an evaluation that a person reads at a glance, prints and hands over."""
