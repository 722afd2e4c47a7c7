#!/usr/bin/env python3
"""One door to the program: start, test, and every Django command."""

import sys

from workshop.bootstrap import main

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
