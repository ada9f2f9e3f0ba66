-- Lines of journals, as the stations wrote them. Rows are added, never changed or deleted.
create table benchhand.stations (
    station text primary key check (station ~ '^[0-9a-f]{32}$'),
    -- Row security holds what this role adds to this station's rows.
    role name not null default current_user,
    name text not null,
    -- Short for people, unique in the shop: A, B, C …
    letter text not null unique check (letter ~ '^[A-Z]{1,4}$'),
    joined_at timestamptz not null default clock_timestamp()
);
comment on table benchhand.stations is 'the stations of this shop, and as which role each connects';

create table benchhand.journals (
    job text not null check (job ~ '^[0-9a-f]{64}$'),
    station text not null references benchhand.stations,
    primary key (job, station)
);
comment on table benchhand.journals is 'which station keeps a journal of which job';

create table benchhand.lines (
    job text not null,
    station text not null,
    number bigint not null check (number > 0),
    -- 0 is the line as it was sent. Where it was changed here, its station adds a good copy with the
    -- next number, and the highest copy counts.
    copy smallint not null default 0 check (copy >= 0),
    hash text not null check (hash ~ '^[0-9a-f]{64}$'),
    prev text not null check (prev ~ '^[0-9a-f]{64}$'),
    text text not null check (right(text, 66) = hash || '"}'),
    added_at timestamptz not null default clock_timestamp(),
    primary key (job, station, number, copy),
    foreign key (job, station) references benchhand.journals
);
comment on table benchhand.lines is 'every line of every journal of every station';

create view benchhand.heads as
    select j.job, j.station, l.number, l.hash, exists (
        select from benchhand.lines o
        where o.job = j.job and o.station = j.station and o.number = 1 and o.hash = j.job
    ) as opens
    from benchhand.journals j
    cross join lateral (
        select number, hash from benchhand.lines
        where job = j.job and station = j.station
        order by number desc, copy desc
        limit 1
    ) l;
comment on view benchhand.heads is 'how far each journal goes; opens says whether it opened the job';
