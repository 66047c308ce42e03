"""`python -m strandkeeper_dashboard CONFIG`."""

import sys

from strandkeeper_dashboard.cli import main

if __name__ == "__main__":
    sys.exit(main())
