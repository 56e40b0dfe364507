"""The calls, one module a resource: a plain description each, and the methods both clients make of it."""
