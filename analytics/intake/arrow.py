"""pyarrow's compute functions, which are made at run time and so unknown to a type checker."""

from typing import Any

import pyarrow.compute

pc: Any = pyarrow.compute
