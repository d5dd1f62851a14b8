//! What a record comes to: decided from the herd, saved, said.

use super::{Desk, Pending, Shelf, Task, Turn, load, of_all};
use crate::collection::animal::{AnimalId, KeeperId};
use crate::collection::change::Change;
use crate::collection::herd::Herd;
use crate::collection::store::{StoreError, Who};
use crate::conversation::keeping::{self, Done, Fixed, Stop};
use crate::conversation::sentences::keeping as say;
use crate::reading::records::Record;
use crate::reading::records::season::SeasonAsked;
use crate::reply::{LONG, Reply, SHORT};

impl Desk<'_> {
    pub(super) async fn act(
        &mut self,
        shelf: &Shelf,
        turn: Turn<'_>,
        keeper: Option<KeeperId>,
        herd: &Herd,
        task: Task,
        fixed: Fixed,
    ) -> Reply {
        let Turn { who, once, present, said } = turn;
        let desk = keeping::Desk {
            catalogue: self.catalogue,
            reader: self.reader,
            herd,
            today: present.day_of(herd),
            present,
            species: self.species,
            last: &self.last,
            fixed: &fixed,
            plan: self.plan.as_ref(),
            after_plan: self.after_plan,
            season: self.season.as_deref(),
            said: said.to_owned(),
        };
        let done = match &task {
            Task::Record(record) => keeping::answer(&desk, record),
            Task::Incoming(bytes) => keeping::incoming(&desk, bytes),
        };
        self.note(&task);
        // What was told of others is over once the keeper's own are spoken of, but not by a name that nobody here has.
        if !matches!(done, Err(Stop::Say(_))) {
            self.talk.leave_trial();
        }
        match done {
            Err(Stop::Ask(reply, ask)) => {
                self.pending = Some(Pending::Ask { task, fixed: Box::new(fixed), ask, said: said.to_owned() });
                reply.fitted(LONG)
            }
            Err(Stop::Say(reply)) => reply.fitted(LONG),
            Ok(Done::Say { reply, about }) => {
                // "Why not that pair" leaves the season where it was.
                self.of_season = matches!(&task, Task::Record(record) if matches!(**record, Record::Season(_)))
                    && self.season.is_some();
                if let Task::Record(record) = task
                    && matches!(*record, Record::Plan { .. })
                {
                    self.plan = Some(*record);
                }
                self.speak_of(&about);
                reply.fitted(LONG)
            }
            Ok(Done::Season { reply, kept, about }) => {
                self.season = Some(kept);
                self.of_season = true;
                self.speak_of(&about);
                reply.fitted(LONG)
            }
            Ok(Done::Save { change, reply, about }) => self.save(shelf, who, &change, *reply, about, once).await,
            Ok(Done::Confirm { word, shown, change, reply }) => {
                self.pending = Some(Pending::Confirm { word, change, reply, about: Vec::new() });
                shown.fitted(LONG)
            }
            Ok(Done::Forget { word, shown }) => {
                self.pending = Some(Pending::Forget { word });
                shown.fitted(LONG)
            }
            Ok(Done::File { file, reply }) => {
                self.file = Some(file);
                reply.fitted(SHORT)
            }
            Ok(Done::Wants { name, reply }) => {
                self.wanted = Some(name);
                *reply
            }
            Ok(Done::Undo) => self.undo(shelf, keeper).await,
            Ok(Done::Changes { days }) => {
                let Some(keeper) = keeper else { return say::changes(&[], days) };
                let listed = async { shelf.store().await?.changes(keeper, days).await };
                listed.await.map_or_else(|e| say::away(&e), |c| say::changes(&c, days)).fitted(LONG)
            }
            Ok(Done::Odds { message, parents, reply, about }) => {
                self.speak_of(&about);
                match self.talk.turn_about(&message, &parents, of_all(self.catalogue, herd, &about)) {
                    Some(mut odds) => {
                        odds.notes.extend(reply.notes);
                        if !reply.understood.is_empty() {
                            let both = format!("{}\n{}", reply.understood, odds.understood);
                            both.trim_end().clone_into(&mut odds.understood);
                        }
                        odds
                    }
                    None => say::whom(),
                }
            }
        }
    }

    /// Notes what this is about, for what may be said next.
    fn note(&mut self, task: &Task) {
        self.after_plan = match task {
            Task::Record(record) => match **record {
                Record::Plan { .. } | Record::PlanMore(_) => true,
                Record::Season(SeasonAsked::Buy(_)) => self.after_plan,
                _ => false,
            },
            Task::Incoming(_) => false,
        };
        self.near_season = match task {
            Task::Record(record) => match **record {
                Record::Season(SeasonAsked::Buy(_)) if self.after_plan => false,
                Record::Season(_) => true,
                Record::Undo => self.near_season,
                _ => false,
            },
            Task::Incoming(_) => false,
        };
    }

    async fn undo(&self, shelf: &Shelf, keeper: Option<KeeperId>) -> Reply {
        let Some(keeper) = keeper.filter(|_| !self.rehearsing) else { return say::undone(None) };
        let undone = async { shelf.store().await?.undo(keeper).await };
        undone.await.map_or_else(|e| say::away(&e), |said| say::undone(said.as_deref()))
    }

    pub(super) async fn save(
        &mut self,
        shelf: &Shelf,
        who: &Who,
        change: &Change,
        reply: Reply,
        about: Vec<AnimalId>,
        once: Option<&str>,
    ) -> Reply {
        if self.rehearsing {
            return reply;
        }
        let saved = async {
            let store = shelf.store().await?;
            let keeper = store.keeper_or_new(who).await?;
            store.save(keeper, change, once).await
        };
        match saved.await {
            Ok(saved) => {
                self.saved = true;
                let about: Vec<AnimalId> = about.into_iter().map(|id| saved.animal(id)).collect();
                self.speak_of(&about);
                match saved.before {
                    Some(before) => say::saved_before(&before),
                    None => reply.fitted(LONG),
                }
            }
            Err(StoreError::Changed { record }) => {
                let herd = load(shelf, who).await.map(|l| l.1).unwrap_or_default();
                // What was shown first may be about many; the one that was changed is named.
                let id = record.strip_prefix("animal ").and_then(|id| id.parse::<i64>().ok());
                let about = id.map_or(about, |id| vec![AnimalId::of_bits(id.cast_unsigned())]);
                say::changed_meanwhile(self.catalogue, &herd, &about).fitted(SHORT)
            }
            Err(error) => {
                if !error.passes() {
                    tracing::error!(%error, "a change could not be saved");
                }
                say::away(&error)
            }
        }
    }
}
