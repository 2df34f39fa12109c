"""The program ``overwinter``: thin, one module a command.

Exit status 0 done, 1 the input was refused (a sentence on standard error), 2 usage.
"""

from analytics.cli.program import main

__all__ = ["main"]
