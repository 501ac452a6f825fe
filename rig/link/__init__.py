"""The link to a controller: ports, requests, notices, stop. Knows no gap."""
