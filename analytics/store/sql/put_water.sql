-- The newest row of a key wins whole; rows that say the same are left alone.
MERGE INTO water AS known
USING arriving AS arrived
ON known.field IS NOT DISTINCT FROM arrived.field
    AND known."date" IS NOT DISTINCT FROM arrived."date"
    AND known.kind IS NOT DISTINCT FROM arrived.kind
WHEN MATCHED AND (known IS DISTINCT FROM arrived) THEN UPDATE BY NAME
WHEN NOT MATCHED THEN INSERT BY NAME
RETURNING merge_action, field, "date"
