SET GLOBAL TimeZone = 'UTC'
