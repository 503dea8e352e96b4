"""How the documentation site is built; scripts/build_docs.py starts it."""

from asbuilt.version import __version__

project = "asbuilt"
author = "The asbuilt authors"
release = __version__
extensions = ["sphinx.ext.autodoc", "matplotlib.sphinxext.mathmpl", "numpydoc", "myst_parser", "sphinx_click"]
myst_enable_extensions = ["deflist"]
myst_heading_anchors = 3
exclude_patterns = ["figures.py"]
html_theme = "furo"
html_title = "asbuilt"
html_show_sphinx = False
numpydoc_show_class_members = False
autodoc_typehints = "none"
# Formulas are drawn when the site is built, so that its pages reach out to nothing.
mathmpl_fontsize = 11.0
mathmpl_srcset = ["2x"]
# Two hyphens before an option stay two hyphens.
smartquotes = False
