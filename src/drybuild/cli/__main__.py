"""``python -m drybuild.cli``."""

import sys

from drybuild.cli import main

sys.exit(main())
