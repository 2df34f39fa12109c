SELECT station AS subject FROM stations
WHERE NOT EXISTS (FROM weather WHERE weather.station = stations.station)
ORDER BY station
