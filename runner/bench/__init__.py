"""The bench: the full-screen app, and the only package that imports Textual.

Textual reads these settings when it is imported: 120 frames a second, so that a key is answered at once, and no
animation, so that the screen is calm and the same every time.
"""

import os

os.environ.setdefault("TEXTUAL_FPS", "120")
os.environ.setdefault("TEXTUAL_ANIMATIONS", "none")
os.environ.setdefault("TEXTUAL_SMOOTH_SCROLL", "0")
