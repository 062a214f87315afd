"""`python -m hydro_cli`, or `python -m cli` in a checkout."""

import sys

from .main import main

sys.exit(main())
