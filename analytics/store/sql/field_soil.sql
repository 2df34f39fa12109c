-- params: field text
SELECT soil FROM fields WHERE field = $field
