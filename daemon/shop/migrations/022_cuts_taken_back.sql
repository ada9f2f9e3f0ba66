-- Cuts that were taken back: their stages are none, and what was measured in them counts for the
-- stage before.
create or replace view benchhand.readings as
    with recursive said as materialized (
        select f.job, f.station, f.number, f.seq, f.at, f.stamp, f.fact, f.body,
            coalesce(f.body ->> 'of_station', f.station) as of_station,
            (f.body ->> 'of')::bigint as of_seq,
            coalesce(f.body ->> 'rests_on_station', f.station) as on_station,
            (f.body ->> 'rests_on')::bigint as on_seq,
            count(*) filter (where f.fact in ('opened', 'cut'))
                over (partition by f.job, f.station order by f.number) as cuts
        from (
            select l.job, l.station, l.number, l.said as body, (l.said ->> 'seq')::bigint as seq,
                (l.said ->> 'at')::timestamptz as at, l.said ->> 'fact' as fact,
                max(coalesce((l.said ->> 'stamp')::bigint,
                    floor(extract(epoch from (l.said ->> 'at')::timestamptz) * 1000000)::bigint))
                    over (partition by l.job, l.station order by l.number) as stamp
            from benchhand.lines l
            where not exists (
                select from benchhand.lines h
                where h.job = l.job and h.station = l.station and h.number = l.number
                    and h.copy > l.copy)
        ) f
        where f.fact in ('opened', 'cut', 'cut_withdrawn', 'held', 'revised', 'final', 'asked', 'import',
            'finalised', 'voided', 'restored', 'moved')
    ), named_jobs as materialized (
        select job, min(name) as name from benchhand.jobs group by 1
    ), opened as materialized (
        select job, station, seq, cuts, body ->> 'stage' as stage,
            (stamp, station, seq)::benchhand.fact_place as place,
            row_number() over (partition by job order by fact <> 'opened', stamp, station, seq)
                as opened_place
        from said where fact in ('opened', 'cut')
    ), corrected as materialized (
        -- What is said last of a cut holds: that nothing was cut, or what was cut instead.
        select distinct on (o.job, o.station, o.seq) o.job, o.station, o.seq,
            w.body ? 'instead' as stands
        from opened o
        join said w on w.job = o.job and w.of_station = o.station and w.of_seq = o.seq
            and w.fact = 'cut_withdrawn'
        cross join lateral (
            select (w.stamp, w.station, w.seq)::benchhand.fact_place as own) said_at
        order by o.job, o.station, o.seq, greatest(said_at.own, o.place) desc, said_at.own desc
    ), counting as materialized (
        -- What was measured after a cut that was none counts for the latest stage before it.
        select o.*, max(case when c.stands is not false then o.opened_place end)
            over (partition by o.job order by o.opened_place) as stage_place
        from opened o
        left join corrected c on c.job = o.job and c.station = o.station and c.seq = o.seq
    ), stages as materialized (
        select c.job, c.station, c.seq, c.cuts, c.stage as named, c.place, c.opened_place,
            n.stage, c.stage_place
        from counting c
        join opened n on n.job = c.job and n.opened_place = c.stage_place
    ), restored as materialized (
        select * from said where fact = 'restored'
    ), voided as materialized (
        select distinct on (v.job, v.of_station, v.of_seq) v.job, v.of_station as station,
            v.of_seq as seq, (v.stamp, v.station, v.seq)::benchhand.fact_place as place
        from said v
        where v.fact = 'voided' and not exists (
            select from restored r
            where r.job = v.job and r.of_station = v.of_station and r.of_seq = v.of_seq
                and case when r.on_seq is null
                    then (r.stamp, r.station, r.seq) > (v.stamp, v.station, v.seq)
                    else r.on_station = v.station and r.on_seq = v.seq end)
        order by v.job, v.of_station, v.of_seq, v.stamp, v.station, v.seq
    ), settled as materialized (
        select distinct job, of_station as station, of_seq as seq
        from said where fact in ('finalised', 'restored')
    ), rows as materialized (
        select s.job, s.station, s.number, s.seq, s.at, s.stamp, s.fact, s.cuts, s.on_station, s.on_seq,
            s.of_station as old_station, s.body as said
        from said s
        where s.fact in ('held', 'revised', 'final', 'asked')
        union all
        select s.job, s.station, s.number, s.seq + i.place - 1, s.at, s.stamp, s.fact, s.cuts,
            s.on_station, s.on_seq, s.of_station, i.said
        from said s
        cross join lateral jsonb_array_elements(s.body -> 'rows') with ordinality as i (said, place)
        where s.fact = 'import'
    ), measured as materialized (
        select s.job, s.station, s.number, s.seq, s.at, s.stamp, s.fact,
            s.said ->> 'spot' as spot, (s.said ->> 'value')::double precision as value,
            s.said ->> 'unit' as unit, (s.said ->> 'u')::double precision as u,
            s.said ->> 'gauge' as gauge, s.said ->> 'by' as taken_by, s.old_station,
            (s.said ->> 'supersedes')::bigint as old_seq,
            coalesce(told.stage, case when s.fact = 'import' or s.on_seq is null
                then s.said ->> 'stage' end, named.stage, before.stage) as stage,
            coalesce(told.stage_place, named.stage_place, before.stage_place) as stage_place,
            -- What names a fact that comes later in the order of all waits for it.
            (s.stamp, s.station, s.seq)::benchhand.fact_place as own,
            greatest((s.stamp, s.station, s.seq)::benchhand.fact_place, named.place) as place
        from rows s
        left join stages named
            on named.job = s.job and named.station = s.on_station and named.seq = s.on_seq
        left join lateral (
            -- A row of a file, and a line of a station that was alone, may name its stage.
            select o.stage, o.stage_place
            from stages o
            where (s.on_seq is null or s.fact = 'import') and s.said ? 'stage'
                and o.job = s.job and o.named = s.said ->> 'stage'
                and o.place < (s.stamp, s.station, s.seq)::benchhand.fact_place
            order by o.station = s.station desc, o.opened_place desc
            limit 1
        ) told on true
        left join stages before
            on before.job = s.job and before.station = s.station and before.cuts = s.cuts
    ), replacing as materialized (
        select * from measured where old_seq is not null
    ), placed as (
        select m.*, m.stage as stage_now, m.stage_place as stage_place_now, m.place as place_now,
            m.station as root_station, m.seq as root_seq
        from measured m
        where m.old_seq is null
        union all
        -- What takes the place of another has its stage.
        select m.*, p.stage_now, p.stage_place_now, greatest(m.place, p.place_now),
            p.root_station, p.root_seq
        from placed p
        join replacing m on m.job = p.job and m.old_station = p.station and m.old_seq = p.seq
    ), superseded as materialized (
        select distinct job, old_station as station, old_seq as seq from replacing
    ), followed as materialized (
        -- Of several that take the place of one, at stations that did not know of each other, the last
        -- one stands.
        select job, station, seq, root_station, root_seq, old_station, old_seq, spot,
            place_now, own <> place_now as waits, own, lead(place_now) over w as next_place,
            lead(own <> place_now) over w as next_waits, lead(own) over w as next_own
        from placed
        where (job, root_station, root_seq) in (
            select job, root_station, root_seq from placed where old_seq is not null)
        window w as (partition by job, root_station, root_seq
            order by place_now, own <> place_now, own)
    ), moving as materialized (
        select v.job, p.station, p.seq, p.root_station, p.root_seq, v.body ->> 'to' as spot,
            greatest((v.stamp, v.station, v.seq)::benchhand.fact_place, p.place_now) as place,
            (v.stamp, v.station, v.seq)::benchhand.fact_place < p.place_now as waits,
            (v.stamp, v.station, v.seq)::benchhand.fact_place as own
        from said v
        join placed p on p.job = v.job and p.station = v.of_station and p.seq = v.of_seq
        where v.fact = 'moved'
    ), moves as materialized (
        -- A move of what was replaced meanwhile moves what stands in its place.
        select distinct on (v.job, coalesce(f.station, v.station), coalesce(f.seq, v.seq)) v.job,
            coalesce(f.station, v.station) as station, coalesce(f.seq, v.seq) as seq, v.spot
        from moving v
        left join followed f on f.job = v.job and f.root_station = v.root_station
            and f.root_seq = v.root_seq
            and (f.place_now, f.waits, f.own) < (v.place, v.waits, v.own)
            and (f.next_place is null
                or (v.place, v.waits, v.own) < (f.next_place, f.next_waits, f.next_own))
        order by v.job, coalesce(f.station, v.station), coalesce(f.seq, v.seq),
            v.place desc, v.waits desc, v.own desc
    ), carried as materialized (
        select f.job, f.station, f.seq, f.old_station, f.old_seq, f.spot, v.spot as moved_to
        from followed f
        left join moves v on v.job = f.job and v.station = f.station and v.seq = f.seq
    ), lying as (
        select job, station, seq, coalesce(moved_to, spot) as spot_now,
            case when moved_to is not null then spot end as first_from
        from carried
        where old_seq is null
        union all
        -- Whoever replaced a reading need not know that it was moved.
        select f.job, f.station, f.seq,
            coalesce(f.moved_to, case when l.first_from = f.spot then l.spot_now else f.spot end),
            case when f.moved_to is not null or l.first_from = f.spot then f.spot end
        from lying l
        join carried f on f.job = l.job and f.old_station = l.station and f.old_seq = l.seq
    ), standing as materialized (
    -- Whatever is asked of it, all of it is made first: otherwise few rows are expected where there are
    -- many, and each is looked for in all the others.
    select p.job, j.name as job_name, p.station, t.name as station_name, p.number as line, p.seq,
        p.at, p.stamp, coalesce(l.spot_now, v.spot, p.spot) as spot, p.value, p.unit, p.u,
        p.stage_now as stage, p.gauge, p.taken_by,
        case
            when o.seq is not null then 'superseded'
            when x.seq is not null and (f.next_place is null
                or (greatest(x.place, p.place_now), x.place < p.place_now, x.place)
                    < (f.next_place, f.next_waits, f.next_own)) then 'voided'
            when f.next_place is not null then 'superseded'
            when e.seq is not null or p.fact in ('final', 'import') then 'final'
            when p.fact = 'asked' then 'asked'
            else 'held'
        end as standing,
        p.stage_place_now as stage_place
    from placed p
    left join named_jobs j on j.job = p.job
    left join benchhand.stations t on t.station = p.station
    left join superseded o on o.job = p.job and o.station = p.station and o.seq = p.seq
    left join followed f on f.job = p.job and f.station = p.station and f.seq = p.seq
    left join lying l on l.job = p.job and l.station = p.station and l.seq = p.seq
    left join moves v on v.job = p.job and v.station = p.station and v.seq = p.seq
    left join voided x on x.job = p.job and x.station = p.station and x.seq = p.seq
    left join settled e on e.job = p.job and e.station = p.station and e.seq = p.seq
    )
    select * from standing;
