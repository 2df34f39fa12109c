SELECT * FROM rejects ORDER BY import, line
