"""Make a report as a process of its own: ``overwinter report`` starts it."""

import importlib
import sys

from streamlit.logger import set_log_level

# Outside a session Streamlit's caches warn that they keep things in memory; so they should.
set_log_level("error")
sys.exit(importlib.import_module("dashboard.views.paper.command").main())
