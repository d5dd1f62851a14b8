//! Buttons, selects and forms: what a press does.
//!
//! Who asked changes the answer where it stands; anybody else gets a private answer of their own, so that nobody spoils
//! another's. A second press does nothing twice. What is too old is read back from the answer's own text.

use std::sync::Arc;
use std::time::Instant;

use serde_json::{Value, json};
use serenity::model::application::{
    ActionRowComponent, ComponentInteraction, ComponentInteractionDataKind, ModalInteraction,
};
use serenity::model::channel::Message;
use tracing::warn;

use super::animals;
use super::asked::{Asked, admitted, gone_on_from, refused, tell};
use super::components;
use super::deliver::{self, Look};
use super::desk::Desk;
use super::forget;
use super::kept::turns::Answer;
use super::press::{Press, Verb};
use super::questions::read_back;
use super::rest::{Outgoing, To};
use super::turns::{Thread, Turn, Words};
use super::working::{Who, note, species, work_out_of};
use super::{posts, reach, saved, sentences, settings_panel, words};

/// A button or a select.
pub async fn component(desk: &Arc<Desk>, interaction: &ComponentInteraction, shard: u32) {
    let Some(_work) = desk.begin().await else { return };
    let asked = Asked::of(
        (interaction.id, &interaction.token),
        (interaction.channel_id, interaction.guild_id),
        (&interaction.user, interaction.member.as_ref()),
        shard,
    );
    let Ok(press) = interaction.data.custom_id.parse::<Press>() else {
        if admitted(desk, &asked).await {
            tell(desk, &asked, &sentences::unknown_button()).await;
        }
        return;
    };
    let chosen = chosen(&interaction.data.kind);
    if !admitted(desk, &asked).await {
        // A press that is not answered would be shown as a failure.
        let _ = desk.rest.defer(asked.interaction, &asked.token, true, true).await;
        return;
    }
    if press.verb.sets() {
        settings_panel::press(desk, &asked, press, &chosen).await;
        return;
    }
    if press.verb.keeps() {
        animals::press(desk, &asked, press, &chosen).await;
        return;
    }
    if press.verb.posts() {
        posts::press(desk, &asked, press, &chosen).await;
        return;
    }
    match press.verb {
        Verb::Draft | Verb::Publish => words::editor::press(desk, &asked, press).await,
        Verb::TakeIn => words::files::take_in(desk, &asked, press.source).await,
        Verb::Publicise => publicise(desk, &asked, &interaction.message).await,
        Verb::Saved => saved::page(desk, &asked, components::page(press), true).await,
        Verb::Open => saved::open(desk, &asked, chosen.first()).await,
        Verb::Remove => saved::remove(desk, &asked, chosen.first()).await,
        Verb::Forget => {
            let form = components::forget_form(sentences::ERASE);
            if let Err(failure) = desk.rest.form(asked.interaction, &asked.token, &form).await {
                warn!(%failure, "a form could not be opened");
            }
        }
        Verb::Cancel => {
            desk.cancel(press.source, asked.asker.get());
            let _ = desk.rest.defer(asked.interaction, &asked.token, true, true).await;
        }
        _ => under_an_answer(desk, &asked, press, &chosen, interaction).await,
    }
}

/// What was chosen in a select, as words.
fn chosen(kind: &ComponentInteractionDataKind) -> Vec<String> {
    match kind {
        ComponentInteractionDataKind::StringSelect { values } => values.clone(),
        ComponentInteractionDataKind::ChannelSelect { values } => values.iter().map(ToString::to_string).collect(),
        _ => Vec::new(),
    }
}

async fn under_an_answer(
    desk: &Arc<Desk>,
    asked: &Asked,
    press: Press,
    chosen: &[String],
    interaction: &ComponentInteraction,
) {
    let begun = Instant::now();
    let known = gone_on_from(desk, press.source).await;
    let old = known.is_none();
    let mut answer = known.unwrap_or_else(|| Answer { thread: read_back(&interaction.message), ..Answer::default() });
    if answer.asker != asked.asker.get() {
        answer.thread = answer.thread.for_others();
    }
    let of_season = press.verb == Verb::Share && !answer.thread.asked.lines.is_empty();
    if answer.thread.last.is_empty() && answer.thread.choices.is_empty() && !of_season {
        tell(desk, asked, &sentences::too_old()).await;
        return;
    }
    let said = match press.verb {
        Verb::Eggs => {
            if let Err(failure) =
                desk.rest.form(asked.interaction, &asked.token, &components::eggs_form(press.source)).await
            {
                warn!(%failure, "a form could not be opened");
            }
            return;
        }
        Verb::Save => {
            saved::save(desk, asked, &answer.thread.last).await;
            return;
        }
        Verb::Swap => "swap".to_owned(),
        Verb::All => "show all".to_owned(),
        Verb::How => "how did you get that?".to_owned(),
        Verb::Pick => {
            // A select says which; a button is the only one.
            let n = chosen.first().map_or(Some(0), |v| v.parse::<usize>().ok());
            let choice = n.and_then(|n| Some((n, answer.thread.choices.get(n)?)));
            let Some((n, (_, says))) = choice else {
                tell(desk, asked, &sentences::too_old()).await;
                return;
            };
            if answer.thread.asked.is_empty() { (n + 1).to_string() } else { says.clone() }
        }
        _ => String::new(),
    };
    let page = if press.verb == Verb::Page { components::page(press) } else { 0 };
    // A page and a share say the same again.
    let (thread, said) = match press.verb {
        // A season is gone through again, up to the question whose answer is shared.
        Verb::Share if of_season => {
            let mut thread = answer.thread.clone();
            let said = thread.asked.lines.pop().unwrap_or_default();
            (thread, said)
        }
        Verb::Page | Verb::Share => {
            (Thread { last: String::new(), ..answer.thread.clone() }, answer.thread.last.clone())
        }
        // So does a picture, which is asked for in the same breath.
        Verb::Draw => {
            (Thread { last: String::new(), ..answer.thread.clone() }, format!("{}, draw it", answer.thread.last))
        }
        _ => (answer.thread.clone(), said),
    };
    go_on(desk, asked, Step { press, answer: &answer, old, page }, thread, said, begun, interaction.message.id.get())
        .await;
}

/// Shows everybody what one member saw: exactly that, because it was what they decided on.
async fn publicise(desk: &Desk, asked: &Asked, shown: &Message) {
    if refused(desk, asked).await {
        return;
    }
    let embeds: Vec<Value> = shown
        .embeds
        .iter()
        .map(|e| json!({"description": e.description.as_deref().unwrap_or_default(), "color": e.colour.map(|c| c.0)}))
        .collect();
    if embeds.is_empty() {
        tell(desk, asked, &sentences::too_old()).await;
        return;
    }
    if let Err(failure) = desk.rest.send(&asked.answer(), &Outgoing { embeds, ..Outgoing::default() }).await {
        warn!(%failure, "an interaction could not be answered");
    }
}

/// A press under an answer.
struct Step<'a> {
    press: Press,
    answer: &'a Answer,
    /// The answer was read back from its own text.
    old: bool,
    page: usize,
}

/// Works the next answer out and puts it in the place of the old one, or privately beside it.
async fn go_on(
    desk: &Arc<Desk>,
    asked: &Asked,
    step: Step<'_>,
    thread: Thread,
    said: String,
    begun: Instant,
    message: u64,
) {
    let Step { press, answer, old, page } = step;
    let manner = desk.kept.manner(asked.server()).await;
    let of_season = press.verb == Verb::Share && !answer.thread.asked.lines.is_empty();
    let again = matches!(press.verb, Verb::Page | Verb::Share) && !of_season;
    let who = Who {
        asker: asked.asker.get(),
        server: asked.server(),
        species: species(desk, &manner),
        source: asked.interaction.get(),
        long: false,
    };
    let was_asked = !thread.asked.is_empty() || of_season;
    let mine = !old && answer.asker == asked.asker.get();
    // A picture stands beside the answer, and so does what explains it.
    let in_place = mine && !matches!(press.verb, Verb::How | Verb::Draw | Verb::Share);
    // A page turned twice shows the same; anything else is used up by the first press.
    if in_place && press.verb != Verb::Page && !desk.kept.replace(press.source).await {
        let _ = desk.rest.defer(asked.interaction, &asked.token, true, answer.private).await;
        return;
    }
    let whose = if was_asked { Words::Theirs } else { Words::Ours };
    let mut turn = if again {
        again_said(desk, who, &thread, &said).await
    } else {
        work_out_of(desk, who, thread, said, whose).await
    };
    if turn.reply.is_none() {
        turn.reply = Some(sentences::too_old());
    }
    if was_asked {
        reach::tried(desk, who, &mut turn).await;
    }
    if was_asked && !of_season {
        desk.kept.no_longer_asked(who.source, answer).await;
    }
    let private = match press.verb {
        Verb::Share => false,
        Verb::Draw if mine => answer.private,
        _ => answer.private || !in_place,
    };
    let source = if press.verb == Verb::Page && in_place { press.source } else { asked.interaction.get() };
    let to = To::Answer { interaction: asked.interaction, token: asked.token.clone(), update: in_place };
    if source == asked.interaction.get() {
        let message = if in_place { message } else { 0 };
        let fresh = Answer { message, thread: turn.thread.clone(), ..asked.record(private) };
        desk.kept.keep(source, &fresh, true).await;
    }
    let sent = deliver::send(desk, &to, &turn, source, Look { page, private, plain: false }).await;
    if sent.is_err() && in_place && press.verb != Verb::Page {
        // What stands there is still the old answer, and its buttons are to work.
        desk.kept.replace_no_more(press.source).await;
    }
    note(desk, "press", begun, &sent);
}

/// A kept request, worked out once more: each of its lines is a turn.
pub(super) async fn again_said(desk: &Arc<Desk>, who: Who, thread: &Thread, request: &str) -> Turn {
    let mut turn = Turn { thread: Thread { first: thread.first.clone(), ..Thread::default() }, ..Turn::default() };
    for line in request.lines() {
        let before = Thread { choices: Vec::new(), ..turn.thread.clone() };
        turn = work_out_of(desk, who, before, line.to_owned(), Words::Ours).await;
    }
    turn
}

/// A form.
pub async fn form(desk: &Arc<Desk>, interaction: &ModalInteraction, shard: u32) {
    let Some(_work) = desk.begin().await else { return };
    let begun = Instant::now();
    let asked = Asked::of(
        (interaction.id, &interaction.token),
        (interaction.channel_id, interaction.guild_id),
        (&interaction.user, interaction.member.as_ref()),
        shard,
    );
    if !admitted(desk, &asked).await {
        return;
    }
    let inputs: Vec<(String, String)> = interaction
        .data
        .components
        .iter()
        .flat_map(|row| &row.components)
        .filter_map(|part| match part {
            ActionRowComponent::InputText(input) => Some((input.custom_id.clone(), input.value.clone()?)),
            _ => None,
        })
        .collect();
    let typed = inputs.first().map(|input| input.1.as_str());
    let press = match interaction.data.custom_id.parse::<Press>() {
        Ok(press) if press.verb == Verb::Eggs => press,
        Ok(press) if press.verb == Verb::Forget => {
            forget::sent(desk, &asked, typed.unwrap_or_default()).await;
            return;
        }
        Ok(press) if press.verb == Verb::Replace => {
            posts::replace(desk, &asked, press.source, typed.unwrap_or_default()).await;
            return;
        }
        Ok(press) if press.verb == Verb::Write => {
            words::editor::sent(desk, &asked, press.source, &inputs).await;
            return;
        }
        Ok(press) if matches!(press.verb, Verb::Add | Verb::Correct | Verb::Weigh) => {
            animals::form(desk, &asked, press, typed.unwrap_or_default()).await;
            return;
        }
        _ => {
            tell(desk, &asked, &sentences::unknown_button()).await;
            return;
        }
    };
    let eggs = typed.and_then(|text| text.trim().trim_end_matches("eggs").trim().parse::<u32>().ok());
    let Some(eggs) = eggs.filter(|n| (1..=crate::reading::limits::EGGS).contains(n)) else {
        tell(desk, &asked, &sentences::not_eggs()).await;
        return;
    };
    let known = gone_on_from(desk, press.source).await;
    let old = known.is_none();
    let read = || interaction.message.as_deref().map(read_back).unwrap_or_default();
    let answer = known.unwrap_or_else(|| Answer { thread: read(), ..Answer::default() });
    if answer.thread.last.is_empty() {
        tell(desk, &asked, &sentences::too_old()).await;
        return;
    }
    let message = interaction.message.as_ref().map_or(0, |m| m.id.get());
    // Without the message that the form came from there is nothing to change in place.
    let step = Step { press, answer: &answer, old: old || message == 0, page: 0 };
    let said = format!("and with {eggs} eggs?");
    go_on(desk, &asked, step, answer.thread.clone(), said, begun, message).await;
}
