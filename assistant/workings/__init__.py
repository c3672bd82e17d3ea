"""The trade's arithmetic: pure functions of what they are given, one module a subject, units in every name."""
