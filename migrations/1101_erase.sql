-- Why: who asks to be forgotten is forgotten everywhere at once, whichever front they ask in: the collection and what the
-- platform's tables hold of them. A table that keeps something of a person is named here, and a test reads every table of
-- the catalogue after it.
--
-- It runs as the owner of the tables, because the rows of a keeper cannot be seen before it is known who they are.
create function erase_person(of_platform text, of_user text) returns void
    language plpgsql security definer set search_path = public, pg_temp as $$
declare
    member bigint;
begin
    delete from keeper where platform = of_platform and user_id = of_user;
    if of_platform = 'discord' and of_user ~ '^\d{1,20}$' then
        -- The platform's ids have 64 bits without a sign, the columns with one.
        member := (case when of_user::numeric > 9223372036854775807 then of_user::numeric - 18446744073709551616
                   else of_user::numeric end)::bigint;
        delete from discord_pairing where member_id = member;
        delete from discord_turn where asker_id = member;
        delete from discord_draft where member_id = member;
        -- Words of a community stay, without who wrote them.
        update discord_words set file = replace(file, '"' || of_user || '"', '"0"')
         where position('"' || of_user || '"' in file) > 0;
        update discord_server_change set member_id = 0 where member_id = member;
    end if;
end
$$;
