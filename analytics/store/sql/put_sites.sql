-- The newest row of a key wins whole; rows that say the same are left alone.
MERGE INTO sites AS known
USING arriving AS arrived
ON known.site IS NOT DISTINCT FROM arrived.site
    AND known.installed_on IS NOT DISTINCT FROM arrived.installed_on
WHEN MATCHED AND (known IS DISTINCT FROM arrived) THEN UPDATE BY NAME
WHEN NOT MATCHED THEN INSERT BY NAME
RETURNING merge_action, site
