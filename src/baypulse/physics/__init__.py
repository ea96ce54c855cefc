"""The physics: plain functions of SI floats, compiled by numba, one idea a module."""
