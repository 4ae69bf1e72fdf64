"""stepwise leads one person through testing audio power amplifiers at a bench."""

__version__ = "0.1.0"
