"""Files of altitude loggers and pressure gauges: any reasonable CSV to SI arrays, with notes."""

from baypulse.case.logs.flight import Flight, read_flight
from baypulse.case.logs.gauge import Gauge, read_barometer, read_gauge

__all__ = ["Flight", "Gauge", "read_barometer", "read_flight", "read_gauge"]
