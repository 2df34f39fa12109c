-- Give somebody a role.
-- params: email text, role text, growers texts, given_at time
INSERT INTO accounts BY NAME
SELECT $email AS email, $role AS role, $growers AS growers, $given_at::TIMESTAMPTZ AS given_at
