"""What the program says: results on standard output, the rest on standard error."""

import shutil
import sys

_MARK, _BLANK, _LENGTH = "█", "·", 24


def say(text: str) -> None:
    """Write a line that was asked for."""
    sys.stdout.write(text + "\n")


def remark(text: str) -> None:
    """Write a line about how it goes."""
    sys.stderr.write(text + "\n")


def complain(text: str) -> None:
    """Write why something was refused."""
    sys.stderr.write(f"overwinter: {text}\n")


class Bar:
    """A progress bar on standard error; plain lines of stages where that is no terminal."""

    def __init__(self) -> None:
        self._live = sys.stderr.isatty()
        self._last = ""

    def tell(self, share: float, words: str) -> None:
        """Show the share done (0-1) and what is being done."""
        if self._live:
            done = round(share * _LENGTH)
            bar = _MARK * done + _BLANK * (_LENGTH - done)
            width = shutil.get_terminal_size().columns - 1
            line = f"{bar} {share:4.0%}  {words}"[:width]
            sys.stderr.write(f"\r{line:<{width}}")
            sys.stderr.flush()

    def stage(self, words: str) -> None:
        """Say once that a stage begins, where there is no bar to show it."""
        if not self._live and words != self._last:
            remark(words)
            self._last = words

    def close(self) -> None:
        """Leave the line."""
        if self._live:
            sys.stderr.write("\n")
