"""fixplan: planning calculator for the fixation of metatarsal stress fractures.

Planning support and teaching only; the operating surgeon decides.
"""

__version__ = "0.1.0"
