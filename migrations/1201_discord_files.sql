-- Why: a file that a member or a moderator hands in is shown first and taken in when they say so, also after a restart and
-- by any process. It is kept with the question that it came with and goes with it; at the latest after a day.
-- An answer can stand elsewhere than it was asked for (a direct message), and an edit must find it there.
-- A community's topics have titles and questions of their own, links are its own affair, and what became of a post is told
-- to those who look after it once.

create table discord_upload (
    source bigint primary key references discord_turn on delete cascade,
    bytes bytea not null,
    kept_at timestamptz not null default now()
);
grant select, insert, update, delete on discord_upload to hatchward_keeper;

alter table discord_turn add column stands_in bigint;             -- the channel of the answer; null: where it was asked
alter table discord_draft
    add column title text not null default '',
    add column questions text not null default '';                -- one a line
alter table discord_server add column links boolean not null default false;
alter table discord_post
    add column trouble text not null default ''                   -- '' is none; what is gone is forgotten once it was shown
        constraint discord_post_trouble_known check (trouble in ('', 'gone', 'refused', 'unpinned'));
