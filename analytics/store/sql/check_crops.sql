SELECT DISTINCT crop, field FROM seasons ORDER BY crop, field
