-- Every station with its place and height.
SELECT station, latitude, longitude, elevation_m
FROM stations
ORDER BY station
