SELECT station FROM stations ORDER BY station
