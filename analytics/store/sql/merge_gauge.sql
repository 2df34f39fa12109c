-- The newest delivery wins where values differ.
MERGE INTO gauge AS known
USING arriving AS arrived
ON known.station = arrived.station AND known."time" = arrived."time"
    AND known.quantity = arrived.quantity
WHEN MATCHED AND known.value <> arrived.value THEN UPDATE SET value = arrived.value
WHEN NOT MATCHED THEN INSERT BY NAME
