-- The newest row of a key wins whole; rows that say the same are left alone.
MERGE INTO seasons AS known
USING arriving AS arrived
ON known.field IS NOT DISTINCT FROM arrived.field
    AND known.planted_on IS NOT DISTINCT FROM arrived.planted_on
WHEN MATCHED AND (known IS DISTINCT FROM arrived) THEN UPDATE BY NAME
WHEN NOT MATCHED THEN INSERT BY NAME
RETURNING merge_action, field
