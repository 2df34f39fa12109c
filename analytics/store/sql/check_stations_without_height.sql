SELECT station AS subject FROM stations WHERE elevation_m IS NULL ORDER BY station
