-- params: name text, value text
MERGE INTO settings AS known
USING (SELECT $name::VARCHAR AS name, $value::VARCHAR AS "value") AS arrived
ON known.name = arrived.name
WHEN MATCHED THEN UPDATE BY NAME
WHEN NOT MATCHED THEN INSERT BY NAME
