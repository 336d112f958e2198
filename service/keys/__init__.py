"""Keys: who calls, and what each caller may do. A key is shown once, and only a hash of it is kept."""
