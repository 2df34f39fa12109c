-- The newest row of a key wins whole; rows that say the same are left alone.
MERGE INTO landmarks AS known
USING (
    SELECT * REPLACE (ST_GeomFromWKB(geometry) AS geometry) FROM arriving
) AS arrived
ON known.landmark IS NOT DISTINCT FROM arrived.landmark
WHEN MATCHED AND (known IS DISTINCT FROM arrived) THEN UPDATE BY NAME
WHEN NOT MATCHED THEN INSERT BY NAME
RETURNING merge_action, landmark
