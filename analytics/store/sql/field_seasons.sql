-- params: field text
SELECT * FROM seasons WHERE field = $field ORDER BY planted_on
