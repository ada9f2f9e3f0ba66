-- What goes on at each station now. Nothing of it is kept: one row a station, written over about once
-- a second while a route runs there, and gone when the server fails.
create unlogged table benchhand.live (
    station text primary key references benchhand.stations,
    said_at timestamptz not null default clock_timestamp(),
    -- How many of its own lines it had not sent.
    waiting bigint not null check (waiting >= 0),
    -- What it says is wrong, for people.
    wrong text not null default '' check (octet_length(wrong) <= 2000),
    -- Its routes, as JSON.
    routes text not null default '' check (octet_length(routes) <= 8000)
) with (fillfactor = 50);
comment on table benchhand.live is 'what each station said of itself last; nothing of it is a record';

do $$
begin
    execute format('grant insert, update on benchhand.live to %I', current_database() || '_station');
end
$$;

alter table benchhand.live enable row level security;
create policy everybody_reads on benchhand.live for select using (true);
create policy own_station_only on benchhand.live for insert
    with check (station in (select s.station from benchhand.stations s where s.role = current_user));
create policy own_station_changes on benchhand.live for update
    using (station in (select s.station from benchhand.stations s where s.role = current_user))
    with check (station in (select s.station from benchhand.stations s where s.role = current_user));
