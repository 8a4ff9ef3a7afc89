"""asfound: static sites of vetted procedures for changing how a car's control modules behave."""

__version__ = "0.1.0"
