-- params: signature text, name text, mapping json, saved_at time
MERGE INTO mappings AS known
USING (
    SELECT
        $signature::VARCHAR AS signature, $name::VARCHAR AS name,
        $mapping::JSON AS mapping, $saved_at::TIMESTAMPTZ AS saved_at
) AS arrived
ON known.signature = arrived.signature
WHEN MATCHED THEN UPDATE BY NAME
WHEN NOT MATCHED THEN INSERT BY NAME
