"""Leaves."""
