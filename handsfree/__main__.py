"""`python -m handsfree`."""

from handsfree.cli import main

raise SystemExit(main())
