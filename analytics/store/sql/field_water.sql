-- params: field text, until date
SELECT "date", kind, mm
FROM water
WHERE field = $field AND "date" <= $until::DATE
ORDER BY "date", kind
