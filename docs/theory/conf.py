"""How the theory page is built: from the docstrings of the core, as plain functions."""

import os

# compiled functions hide their text from the tool
os.environ["NUMBA_DISABLE_JIT"] = "1"

project = "Baypulse: the equations as they are coded"
extensions = ["sphinx.ext.autodoc", "numpydoc"]
numpydoc_show_class_members = False
autodoc_default_options = {"members": True, "member-order": "bysource"}
html_theme = "basic"
html_show_copyright = False
html_show_sphinx = False
