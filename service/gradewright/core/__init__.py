"""The pure part: values in, values out. No clock, no database, no network, nothing asynchronous."""
