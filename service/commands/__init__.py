"""The commands beside serving, one file each."""
