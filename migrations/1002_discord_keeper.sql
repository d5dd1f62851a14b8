-- Why: a member's own animals are talked of on Discord too. A follow-up must know which animals were spoken of, and an
-- answer to a question what it answers, after a restart and from any process. The words that were asked back about are the
-- member's own: they are erased with the answer, and after a day without one.

alter table discord_turn
    add column about jsonb not null default '[]',     -- numbers of the asker's animals that were spoken of
    add column asked jsonb not null default '{}';     -- what waits for an answer: {"lines", "shown"}
