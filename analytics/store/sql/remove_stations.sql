DELETE FROM stations
USING leaving
WHERE stations.station = leaving.station
RETURNING stations.station
