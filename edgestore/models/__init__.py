"""Pure functions of numbers and arrays: the answers, one question a module. They import numpy and scipy only."""
