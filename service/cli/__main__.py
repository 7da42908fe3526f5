"""`python -m service.cli`, the same as the installed command."""

import sys

from service.cli import main

sys.exit(main())
