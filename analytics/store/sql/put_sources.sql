-- The newest row of a key wins whole; rows that say the same are left alone.
MERGE INTO sources AS known
USING arriving AS arrived
ON known.source IS NOT DISTINCT FROM arrived.source
WHEN MATCHED AND (known IS DISTINCT FROM arrived) THEN UPDATE BY NAME
WHEN NOT MATCHED THEN INSERT BY NAME
RETURNING merge_action, source
