"""HTTP: what is accepted, how faults are told, how the interface is described."""
