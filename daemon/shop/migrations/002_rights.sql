-- Who may do what: a station's role reads all and adds its own rows, an office's role reads. Neither
-- changes or deletes anything. The groups are named after the database, since roles belong to the
-- whole server.
do $$
declare
    stations text := current_database() || '_station';
    readers text := current_database() || '_reader';
begin
    if not exists (select from pg_catalog.pg_roles where rolname = stations) then
        execute format('create role %I nologin', stations);
    end if;
    if not exists (select from pg_catalog.pg_roles where rolname = readers) then
        execute format('create role %I nologin', readers);
    end if;
    execute format('grant usage on schema benchhand to %I, %I', stations, readers);
    execute format('grant select on all tables in schema benchhand to %I, %I', stations, readers);
    execute format(
        'grant insert on benchhand.stations, benchhand.journals, benchhand.lines to %I', stations);
end
$$;

alter table benchhand.stations enable row level security;
alter table benchhand.journals enable row level security;
alter table benchhand.lines enable row level security;

create policy everybody_reads on benchhand.stations for select using (true);
create policy everybody_reads on benchhand.journals for select using (true);
create policy everybody_reads on benchhand.lines for select using (true);

create policy own_name_only on benchhand.stations for insert
    with check (role = current_user);
create policy own_station_only on benchhand.journals for insert
    with check (station in (select s.station from benchhand.stations s where s.role = current_user));
create policy own_station_only on benchhand.lines for insert
    with check (station in (select s.station from benchhand.stations s where s.role = current_user));
