-- Plain columns for the office and any reporting tool. A line's text is JSON.

-- A line that was changed here may be no JSON any more: it has no fact then, and the others have.
-- What catches an error cannot run in a parallel worker.
create function benchhand.fact_of(line text) returns jsonb
    language plpgsql immutable strict parallel unsafe
as $$
begin
    return line::jsonb;
exception when others then
    return null;
end
$$;

-- `stamp` orders the facts of all stations, then station, then number. A line of a station that is
-- alone has none: its time counts, and never less than the one before.
create view benchhand.facts as
    select l.job, l.station, l.number, (body ->> 'seq')::bigint as seq,
        (body ->> 'at')::timestamptz as at,
        max(coalesce((body ->> 'stamp')::bigint,
            floor(extract(epoch from (body ->> 'at')::timestamptz) * 1000000)::bigint))
            over (partition by l.job, l.station order by l.number) as stamp,
        body ->> 'fact' as fact, body
    from (
        select distinct on (job, station, number) job, station, number, text
        from benchhand.lines
        order by job, station, number, copy desc
    ) l
    cross join lateral benchhand.fact_of(l.text) as body;
comment on view benchhand.facts is 'every fact of every station; body is the line as JSON';

create view benchhand.jobs as
    select job, station, body ->> 'job' as name, body ->> 'title' as title,
        (body ->> 'at')::timestamptz as opened_at
    from (
        select job, station, benchhand.fact_of(text) as body
        from benchhand.lines
        where number = 1 and hash = job
    ) opened
    where body ->> 'fact' = 'opened';
comment on view benchhand.jobs is 'the jobs of the shop, by the station that opened each';

create view benchhand.readings as
    with recursive said as materialized (
        select f.*,
            coalesce(f.body ->> 'of_station', f.station) as of_station,
            (f.body ->> 'of')::bigint as of_seq,
            coalesce(f.body ->> 'rests_on_station', f.station) as on_station,
            (f.body ->> 'rests_on')::bigint as on_seq,
            count(*) filter (where f.fact in ('opened', 'cut'))
                over (partition by f.job, f.station order by f.number) as cuts
        from benchhand.facts f
        where f.fact in ('opened', 'cut', 'held', 'revised', 'final', 'asked', 'import',
            'finalised', 'voided', 'restored', 'moved')
    ), stages as (
        select job, station, seq, cuts, body ->> 'stage' as stage
        from said where fact in ('opened', 'cut')
    ), moves as (
        select job, of_station as station, of_seq as seq,
            (array_agg(body ->> 'to' order by stamp desc, said.station desc, said.seq desc))[1]
                as spot,
            (array_agg(body ->> 'from' order by stamp, said.station, said.seq))[1] as first_from
        from said where fact = 'moved'
        group by 1, 2, 3
    ), restored as (
        select * from said where fact = 'restored'
    ), voided as (
        select distinct v.job, v.of_station as station, v.of_seq as seq
        from said v
        where v.fact = 'voided' and not exists (
            select from restored r
            where r.job = v.job and r.of_station = v.of_station and r.of_seq = v.of_seq
                and case when r.on_seq is null
                    then (r.stamp, r.station, r.seq) > (v.stamp, v.station, v.seq)
                    else r.on_station = v.station and r.on_seq = v.seq end)
    ), settled as (
        select distinct job, of_station as station, of_seq as seq
        from said where fact in ('finalised', 'restored')
    ), measured as materialized (
        select s.job, s.station, s.number, s.seq + i.place - 1 as seq, s.at, s.stamp, s.fact,
            i.said, i.said ->> 'spot' as spot, s.of_station as old_station,
            (i.said ->> 'supersedes')::bigint as old_seq,
            coalesce(i.said ->> 'stage', named.stage, before.stage) as stage
        from said s
        cross join lateral (
            select 1 as place, s.body as said where s.fact <> 'import'
            union all
            select place, one from jsonb_array_elements(
                case when s.fact = 'import' then s.body -> 'rows' end)
                with ordinality as rows (one, place)
        ) i
        left join stages named
            on named.job = s.job and named.station = s.on_station and named.seq = s.on_seq
        left join stages before
            on before.job = s.job and before.station = s.station and before.cuts = s.cuts
        where s.fact in ('held', 'revised', 'final', 'asked', 'import')
    ), superseded as (
        select distinct job, old_station as station, old_seq as seq
        from measured where old_seq is not null
    ), placed as (
        select m.*, coalesce(v.spot, m.spot) as spot_now, m.stage as stage_now, v.first_from
        from measured m
        left join moves v using (job, station, seq)
        where m.old_seq is null
        union all
        -- What takes the place of another has its stage, and where that one was moved its spot.
        select m.*,
            coalesce(v.spot, case when p.first_from = m.spot then p.spot_now else m.spot end),
            p.stage_now, coalesce(v.first_from, case when p.first_from = m.spot then m.spot end)
        from placed p
        join measured m on m.job = p.job and m.old_station = p.station and m.old_seq = p.seq
        left join moves v on v.job = m.job and v.station = m.station and v.seq = m.seq
    )
    select p.job, j.name as job_name, p.station, t.name as station_name, p.number as line, p.seq,
        p.at, p.stamp, p.spot_now as spot, (p.said ->> 'value')::double precision as value,
        p.said ->> 'unit' as unit, (p.said ->> 'u')::double precision as u,
        p.stage_now as stage, p.said ->> 'gauge' as gauge, p.said ->> 'by' as taken_by,
        case
            when o.seq is not null then 'superseded'
            when x.seq is not null then 'voided'
            when e.seq is not null or p.fact in ('final', 'import') then 'final'
            when p.fact = 'asked' then 'asked'
            else 'held'
        end as standing
    from placed p
    left join benchhand.jobs j on j.job = p.job
    left join benchhand.stations t on t.station = p.station
    left join superseded o on o.job = p.job and o.station = p.station and o.seq = p.seq
    left join voided x on x.job = p.job and x.station = p.station and x.seq = p.seq
    left join settled e on e.job = p.job and e.station = p.station and e.seq = p.seq;
comment on view benchhand.readings is 'every reading of every station as it stands; held and final count';

create view benchhand.latest_chambers as
    select distinct on (job, spot) job, job_name, split_part(spot, '/', 2) as cylinder, value, unit,
        u, stage, at, station, station_name
    from benchhand.readings
    where standing in ('held', 'final') and spot like 'chamber/%'
    order by job, spot, stamp desc, station desc, seq desc;
comment on view benchhand.latest_chambers is 'the latest chamber of every cylinder that counts';
