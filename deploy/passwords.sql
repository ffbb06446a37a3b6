-- Gives the roles of migrations/rights/logins.sql their password, for psql.
\set password `printf %s "$SERVICE_PASSWORD"`
ALTER ROLE midstroke_service PASSWORD :'password';
ALTER ROLE midstroke_keeper PASSWORD :'password';
