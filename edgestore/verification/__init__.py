"""Outside check values as data, and the runner that recomputes them."""

from edgestore.verification.check_file import Check, own_check_files, read_checks
from edgestore.verification.report import as_markdown, as_text
from edgestore.verification.runner import run

__all__ = ["Check", "as_markdown", "as_text", "own_check_files", "read_checks", "run"]
