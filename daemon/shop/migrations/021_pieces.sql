-- What a station asks of another one's recorded streams, and what it is answered. Both are bounded by
-- their keys: a station has 16 questions at a time, and each has one answer of at most 256 KiB. Nothing
-- of it is a record, and all of it is gone when the server fails.
create unlogged table benchhand.asked (
    asker text not null references benchhand.stations,
    slot smallint not null check (slot between 0 and 15),
    holder text not null references benchhand.stations,
    job text not null check (job ~ '^[0-9a-f]{64}$'),
    -- The reading, by its number in the holder's journal.
    seq bigint not null check (seq > 0),
    asked_at timestamptz not null default clock_timestamp(),
    primary key (asker, slot)
);
comment on table benchhand.asked is 'which reading''s recorded stream a station asks another one for';

create unlogged table benchhand.pieces (
    holder text not null references benchhand.stations,
    asker text not null,
    slot smallint not null check (slot between 0 and 15),
    job text not null,
    seq bigint not null,
    -- Empty where there is none, and why says so.
    piece bytea not null check (octet_length(piece) <= 262144),
    why text not null default '' check (octet_length(why) <= 1000),
    sent_at timestamptz not null default clock_timestamp(),
    primary key (holder, asker, slot)
);
comment on table benchhand.pieces is 'pieces of recorded streams on their way from a station to another';

do $$
begin
    execute format('grant insert, update, delete on benchhand.asked, benchhand.pieces to %I',
        current_database() || '_station');
end
$$;

alter table benchhand.asked enable row level security;
create policy everybody_reads on benchhand.asked for select using (true);
create policy own_station_asks on benchhand.asked for insert
    with check (asker in (select s.station from benchhand.stations s where s.role = current_user));
create policy own_station_asks_anew on benchhand.asked for update
    using (asker in (select s.station from benchhand.stations s where s.role = current_user))
    with check (asker in (select s.station from benchhand.stations s where s.role = current_user));
create policy own_station_takes_back on benchhand.asked for delete
    using (asker in (select s.station from benchhand.stations s where s.role = current_user));

-- A piece is its holder's, and only where it was asked for.
alter table benchhand.pieces enable row level security;
create policy everybody_reads on benchhand.pieces for select using (true);
create policy holder_sends on benchhand.pieces for insert with check (
    holder in (select s.station from benchhand.stations s where s.role = current_user)
    and exists (select from benchhand.asked a where a.holder = pieces.holder
        and a.asker = pieces.asker and a.slot = pieces.slot));
create policy holder_sends_anew on benchhand.pieces for update
    using (holder in (select s.station from benchhand.stations s where s.role = current_user))
    with check (
        holder in (select s.station from benchhand.stations s where s.role = current_user)
        and exists (select from benchhand.asked a where a.holder = pieces.holder
            and a.asker = pieces.asker and a.slot = pieces.slot));
create policy holder_clears on benchhand.pieces for delete
    using (holder in (select s.station from benchhand.stations s where s.role = current_user));
