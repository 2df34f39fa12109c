-- The newest row of a key wins whole; rows that say the same are left alone.
MERGE INTO fields AS known
USING (
    SELECT * REPLACE (ST_GeomFromWKB(geometry) AS geometry) FROM arriving
) AS arrived
ON known.field IS NOT DISTINCT FROM arrived.field
WHEN MATCHED AND (known IS DISTINCT FROM arrived) THEN UPDATE BY NAME
WHEN NOT MATCHED THEN INSERT BY NAME
RETURNING merge_action, field
