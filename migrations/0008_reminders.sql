-- Why: a keeper sets a reminder once and relies on it. What they said is a record like any other (`reminder`: it can be
-- taken back, goes with a backup and is erased with them). The moments at which it comes are rows of their own (`due`),
-- which several processes work off together: each claims some for a while, tells them, and only then writes down that they
-- were told. Whoever dies in between loses the claim when its time is over, and another tells them again under the same
-- number, which the platform takes for the same message if it comes within minutes.
--
-- The release before knows nothing of these tables and leaves them alone.

create table reminder (
    keeper_id bigint not null references keeper on delete cascade,
    id bigint not null,
    version integer not null,
    number integer not null constraint reminder_number_is_sane check (number between 1 and 1000000),
    what text not null constraint reminder_is_short check (length(what) between 1 and 300),
    zone text not null constraint reminder_zone_is_a_name check (zone ~ '^[A-Za-z0-9_+/-]{1,40}$'),
    -- {"every", "unit", "on", "from", "at"}; null: it comes once.
    rule jsonb constraint rule_is_an_object check (jsonb_typeof(rule) = 'object'),
    next_at timestamptz not null,
    put_off timestamptz,
    channel text constraint channel_is_a_number check (channel ~ '^\d{1,20}$'),
    constraint reminder_key primary key (keeper_id, id)
);

create table due (
    -- Also the number under which the platform knows the message.
    id bigint primary key default nextval('record_id'),
    keeper_id bigint not null references keeper on delete cascade,
    reminder_id bigint not null,
    extra boolean not null default false,             -- put off to this moment, beside the rule
    due_at timestamptz not null,
    state text not null default 'open' constraint due_state_is_one_of check (state in ('open', 'told', 'missed')),
    claimed_until timestamptz,                        -- nobody else tells it before then
    claimed_by text,
    tries smallint not null default 0,
    told_at timestamptz,
    constraint due_is_of_a_reminder foreign key (keeper_id, reminder_id) references reminder on delete cascade
);
create index due_next on due (due_at) where state = 'open';
create index due_of_reminder on due (keeper_id, reminder_id);

do $$
declare
    name text;
begin
    foreach name in array array['reminder', 'due'] loop
        execute format('alter table %I enable row level security', name);
        execute format('create policy own on %I using (keeper_id = (select keeper_now()))', name);
        execute format('grant select, insert, update, delete on %I to hatchward_keeper', name);
    end loop;
end
$$;

-- The moments follow the reminder. Where no keeper is on hand a backup is taken in, which brings the moments itself.
create function due_follows() returns trigger language plpgsql as $$
begin
    if keeper_now() is null then
        return null;
    end if;
    if tg_op = 'INSERT' or (new.next_at, new.rule, new.zone) is distinct from (old.next_at, old.rule, old.zone) then
        delete from due where keeper_id = new.keeper_id and reminder_id = new.id and state = 'open' and not extra;
        insert into due (keeper_id, reminder_id, due_at) values (new.keeper_id, new.id, new.next_at);
    end if;
    if new.put_off is distinct from (case when tg_op = 'UPDATE' then old.put_off end) then
        delete from due where keeper_id = new.keeper_id and reminder_id = new.id and state = 'open' and extra;
        if new.put_off > now() then
            insert into due (keeper_id, reminder_id, extra, due_at) values (new.keeper_id, new.id, true, new.put_off);
        end if;
    end if;
    return null;
end
$$;
create trigger due_follows after insert or update on reminder for each row execute function due_follows();

-- What those who deliver may do, for all keepers of a platform. It runs as the owner of the tables, because no keeper is
-- on hand then.

-- A claimed moment with all that telling it needs.
create type due_claimed as (
    id bigint, keeper_id bigint, user_id text, number integer, what text, zone text, rule text, extra boolean, channel text,
    due_ms bigint, tries smallint
);

-- Claims moments that are due, the oldest first; those that are older than `old` are left to `claim_old`.
create function claim_due(for_platform text, only_keeper bigint, worker text, lease interval, old interval, most integer)
    returns setof due_claimed language sql security definer set search_path = public, pg_temp as $$
    with chosen as (
        select x.id from due x join keeper k on k.id = x.keeper_id
        where x.state = 'open' and x.due_at <= now() and x.due_at > now() - old
            and (x.claimed_until is null or x.claimed_until < now())
            and k.platform = for_platform and (only_keeper is null or k.id = only_keeper)
        order by x.due_at, x.id limit most for update of x skip locked
    ), claimed as (
        update due d set claimed_until = now() + lease, claimed_by = worker, tries = d.tries + 1
        from chosen where d.id = chosen.id returning d.*
    )
    select d.id, d.keeper_id, k.user_id, r.number, r.what, r.zone, r.rule::text, d.extra, r.channel,
        (extract(epoch from d.due_at) * 1000)::bigint, d.tries
    from claimed d join keeper k on k.id = d.keeper_id
    join reminder r on r.keeper_id = d.keeper_id and r.id = d.reminder_id order by d.due_at, d.id
$$;

-- Claims all old moments of one keeper, so that they come as one.
create function claim_old(for_platform text, only_keeper bigint, worker text, lease interval, old interval)
    returns setof due_claimed language plpgsql security definer set search_path = public, pg_temp as $$
declare
    whose bigint;
begin
    for whose in
        select distinct x.keeper_id from due x join keeper k on k.id = x.keeper_id
        where x.state = 'open' and x.due_at <= now() - old and (x.claimed_until is null or x.claimed_until < now())
            and k.platform = for_platform and (only_keeper is null or k.id = only_keeper)
        limit 50
    loop
        -- Two processes never share the old ones of one keeper.
        if pg_try_advisory_xact_lock(hashtextextended('hatchward due', whose)) then
            return query with claimed as (
                update due d set claimed_until = now() + lease, claimed_by = worker, tries = d.tries + 1
                where d.keeper_id = whose and d.state = 'open' and d.due_at <= now() - old
                    and (d.claimed_until is null or d.claimed_until < now())
                returning d.*
            )
            select d.id, d.keeper_id, k.user_id, r.number, r.what, r.zone, r.rule::text, d.extra, r.channel,
                (extract(epoch from d.due_at) * 1000)::bigint, d.tries
            from claimed d join keeper k on k.id = d.keeper_id
            join reminder r on r.keeper_id = d.keeper_id and r.id = d.reminder_id order by d.due_at, d.id;
            if found then
                return;
            end if;
        end if;
    end loop;
end
$$;

-- A moment was told, or could not be told anywhere. A rule goes on to its next moment. False where it was settled before.
create function settle_due(which bigint, outcome text, next timestamptz) returns boolean
    language plpgsql security definer set search_path = public, pg_temp as $$
declare
    done due;
begin
    update due set state = outcome, told_at = case when outcome = 'told' then now() end, claimed_until = null
        where id = which and state = 'open' returning * into done;
    if not found then
        return false;
    end if;
    if next is not null and not done.extra then
        update reminder set next_at = next where keeper_id = done.keeper_id and id = done.reminder_id;
        -- Told for a keeper on hand, the moments have followed already.
        if not exists (select from due d where d.keeper_id = done.keeper_id and d.reminder_id = done.reminder_id
                and d.state = 'open' and not d.extra) then
            insert into due (keeper_id, reminder_id, due_at) values (done.keeper_id, done.reminder_id, next);
        end if;
    end if;
    return true;
end
$$;

-- It could not be told now: after a while anybody may try again.
create function put_due_back(which bigint, pause interval) returns void
    language sql security definer set search_path = public, pg_temp as $$
    update due set claimed_until = now() + pause where id = which and state = 'open'
$$;

-- What is due on a platform and not told: how many, and how late the latest is, in seconds.
create function owed(for_platform text, out n bigint, out late_s double precision)
    language sql security definer set search_path = public, pg_temp as $$
    select count(*), coalesce(extract(epoch from now() - min(x.due_at)), 0)::double precision
    from due x join keeper k on k.id = x.keeper_id
    where x.state = 'open' and x.due_at <= now() and k.platform = for_platform
$$;

-- What was told is let go after a while; a reminder that does not come again goes with its last moment.
create function sweep_reminders(after interval) returns bigint
    language sql security definer set search_path = public, pg_temp as $$
    with gone as (
        delete from due where state = 'told' and told_at < now() - after returning keeper_id, reminder_id
    ), ended as (
        delete from reminder r using gone g where r.keeper_id = g.keeper_id and r.id = g.reminder_id
            and not exists (select from due d where d.keeper_id = r.keeper_id and d.reminder_id = r.id
                and not (d.state = 'told' and d.told_at < now() - after))
        returning 1
    )
    select count(*) from ended
$$;
