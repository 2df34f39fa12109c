SELECT station, latitude, longitude
FROM stations AS s
WHERE EXISTS (FROM weather AS w WHERE w.station = s.station)
ORDER BY station
