"""What goes over the wire, declared: unknown fields are refused, numbers are numbers."""
