SELECT field FROM fields ORDER BY field
