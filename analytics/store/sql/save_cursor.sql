-- params: service text, cursor json, saved_at time
MERGE INTO cursors AS known
USING (
    SELECT
        $service::VARCHAR AS service, $cursor::JSON AS "cursor",
        $saved_at::TIMESTAMPTZ AS saved_at
) AS arrived
ON known.service = arrived.service
WHEN MATCHED THEN UPDATE BY NAME
WHEN NOT MATCHED THEN INSERT BY NAME
