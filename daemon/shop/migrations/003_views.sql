-- Plain columns for the office and any reporting tool. A line's text is JSON.

-- A line that was changed here may be no JSON any more: it has no fact then, and the others have.
create function benchhand.fact_of(line text) returns jsonb
    language plpgsql immutable strict parallel safe
as $$
begin
    return line::jsonb;
exception when others then
    return null;
end
$$;

create view benchhand.facts as
    select l.job, l.station, l.number, (body ->> 'seq')::bigint as seq,
        (body ->> 'at')::timestamptz as at, body ->> 'fact' as fact, body
    from (
        select distinct on (job, station, number) job, station, number, text
        from benchhand.lines
        order by job, station, number, copy desc
    ) l
    cross join lateral benchhand.fact_of(l.text) as body;
comment on view benchhand.facts is 'every fact of every station; body is the line as JSON';

create view benchhand.jobs as
    select job, station, body ->> 'job' as name, body ->> 'title' as title, at as opened_at
    from benchhand.facts
    where number = 1 and fact = 'opened';
comment on view benchhand.jobs is 'the jobs of the shop, by the station that opened each';
