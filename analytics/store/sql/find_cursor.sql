-- params: service text
SELECT "cursor"::VARCHAR AS "cursor" FROM cursors WHERE service = $service
