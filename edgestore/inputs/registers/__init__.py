"""The registers of a card, from pasted text, a boot log or a folder of Linux -> decoded fields, and what disagrees."""

from edgestore.inputs.registers.findings import Finding, Label, findings
from edgestore.inputs.registers.reading import Registers, read_registers

__all__ = ["Finding", "Label", "Registers", "findings", "read_registers"]
