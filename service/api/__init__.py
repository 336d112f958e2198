"""The HTTP interface for integrators: schemas, routers, and one table from exception to answer."""
