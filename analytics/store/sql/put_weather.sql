-- The newest row of a key wins whole; rows that say the same are left alone.
MERGE INTO weather AS known
USING arriving AS arrived
ON known.station IS NOT DISTINCT FROM arrived.station
    AND known."date" IS NOT DISTINCT FROM arrived."date"
WHEN MATCHED AND (known IS DISTINCT FROM arrived) THEN UPDATE BY NAME
WHEN NOT MATCHED THEN INSERT BY NAME
RETURNING merge_action, station, "date"
