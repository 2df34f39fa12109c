SELECT signature, mapping::VARCHAR AS mapping FROM mappings ORDER BY signature
