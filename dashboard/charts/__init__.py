"""Functions that return Altair charts and small SVG pictures. No Streamlit."""
