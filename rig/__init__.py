"""The host side: link, procedures, analysis, records, report and screens."""
