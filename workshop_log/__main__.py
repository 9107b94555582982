"""`python -m workshop_log` does what `workshop-log` does."""

import sys

from workshop_log.commands import main

sys.exit(main())
