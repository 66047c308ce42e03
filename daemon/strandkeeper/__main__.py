"""`python -m strandkeeper`."""

import sys

from strandkeeper.cli.main import main

sys.exit(main())
