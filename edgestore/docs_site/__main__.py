"""Builds the site of docs/: ``python -m edgestore.docs_site [FOLDER]``."""

import sys
from pathlib import Path

from edgestore.checks import InputError
from edgestore.docs_site import build

if __name__ == "__main__":
    try:
        print(f"Open it in a browser: {build(*map(Path, sys.argv[1:2]))}")
    except InputError as error:
        sys.exit(str(error))
