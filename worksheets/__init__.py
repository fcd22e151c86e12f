"""What leaves the shop's screen: the balancing station's CSV and the report as plain data."""
