"""Functions that return Altair charts and small SVG pictures. No Streamlit."""

from altair.utils.schemapi import disable_debug_mode

# Altair would check every part of a chart as it is made, a sixth of what a page takes. Tests
# check every chart whole.
disable_debug_mode()
