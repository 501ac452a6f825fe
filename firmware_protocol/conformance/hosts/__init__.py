"""A trial of hosts: a wire that goes wrong as wires do, and a judge of their duties."""

from firmware_protocol.conformance.hosts.duties import Duty, DutyResult, Judge
from firmware_protocol.conformance.hosts.trial import Controlled, HostTrial, Scene

__all__ = ["Controlled", "Duty", "DutyResult", "HostTrial", "Judge", "Scene"]
