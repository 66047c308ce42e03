"""The ways out: services by a short-lived child process, and what needs no internet."""
