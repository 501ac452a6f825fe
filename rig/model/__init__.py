"""Plain frozen data that every part of the host shares; no behaviour beyond checks."""
