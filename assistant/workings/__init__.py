"""The trade's arithmetic: pure functions of what is given, one module a subject, units in every name."""
