"""What the exhaust gas does on its way. Knows neither rooms nor prices.

Every function takes plain floats or NumPy arrays of any shapes that broadcast, and returns arrays of the broadcast
shape; one call therefore answers one state or ten thousand.
"""
