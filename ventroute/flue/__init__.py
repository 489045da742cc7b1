"""What the exhaust gas does on its way. Knows neither rooms nor prices."""
