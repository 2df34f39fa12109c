-- params: sites texts
INSERT INTO touched SELECT nextval('touches'), unnest($sites::VARCHAR[])
