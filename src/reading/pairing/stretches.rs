//! Items cut into stretches, each about one animal, one wish or one question.

use crate::reading::matching::{Item, What};
use crate::reading::vocabulary::Role;
use crate::reading::words::Text;

/// What opens a stretch of items.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Opens {
    /// The start of the message, a question word, a full stop.
    Plain,
    /// A cross word.
    Cross,
    /// A small word that may pair: with, to, over, on, into, and.
    Small(Role),
    /// "odds on", "to get".
    Target,
    /// "from", "out of".
    From,
    /// "her mom was".
    Relative(Role),
    /// "vs", "or".
    Versus,
    /// A sex mark that opens a second animal.
    Sex,
}

#[derive(Debug, Clone)]
pub(super) struct Stretch {
    pub(super) opens: Opens,
    pub(super) items: Vec<Item>,
    /// "possible" or the word "clutch" stood at its end.
    pub(super) ends_possible: bool,
    pub(super) ends_clutch: bool,
}

/// Words that say something of an animal: its sex, or how it carries its genes.
pub(super) fn describes_animal(role: Role) -> bool {
    matches!(
        role,
        Role::Het
            | Role::Possible
            | Role::PossibleSuper
            | Role::Visual
            | Role::Super
            | Role::Homo
            | Role::Normal
            | Role::Double
            | Role::Triple
            | Role::Quadruple
            | Role::MaleMaker
            | Role::FemaleMaker
            | Role::Male
            | Role::Female
            | Role::Child
            | Role::Pair
    )
}

pub(super) fn is_material(item: &Item) -> bool {
    match &item.what {
        What::Name(_) | What::Sexes(..) => true,
        What::Word(role) => describes_animal(*role) || matches!(role, Role::Both | Role::Same | Role::Unproven),
        _ => false,
    }
}

pub(super) fn has_strong_cross(items: &[Item]) -> bool {
    let first = |of: fn(&Item) -> bool| items.iter().position(of).unwrap_or(items.len());
    let material = first(is_material);
    let strange = first(|x| x.what == What::Unknown);
    let last_name = items.iter().rposition(|x| matches!(x.what, What::Name(_))).unwrap_or(0);
    let last =
        items.iter().rposition(|x| is_material(x) || matches!(x.what, What::Unknown | What::English)).unwrap_or(0);
    items.iter().enumerate().any(|(i, x)| {
        x.role() == Some(Role::Cross)
            && !is_twice(items, i)
            && (material < i || strange < i && i < last_name)
            && i < last
    })
}

/// "mack snow x mack snow, super snow odds", "… ; a sunglow?": where a wish begins that stands behind the pair, before the
/// word that asks for its odds.
fn trailing_wish(items: &[Item], text: &Text, strong: bool) -> Option<usize> {
    let pairs = |x: &Item| match x.role() {
        Some(Role::Cross) => true,
        Some(Role::To | Role::With | Role::On | Role::Over) => !strong,
        _ => false,
    };
    let cross = items.iter().rposition(pairs)?;
    let asks = |k: usize| match items[k].role() {
        Some(Role::Odds) => true,
        // "…, more pastel clowns from which?"
        Some(Role::From) => items.get(k + 1).is_some_and(|x| text.folded(x.words.clone()) == "which"),
        Some(Role::Question) => matches!(&*text.folded(items[k].words.clone()), "please" | "pls" | "plz"),
        _ => false,
    };
    let in_wish = |x: &Item| {
        matches!(x.what, What::Name(_))
            || matches!(x.role(), Some(Role::Filler | Role::Super | Role::Visual | Role::And))
    };
    let breaks = |x: &Item| {
        matches!(x.what, What::Sign(',' | ';' | '.' | '\n' | ')' | '?' | '!') | What::Species(_))
            || matches!(x.role(), Some(Role::Male | Role::Female))
    };
    let end = (cross + 2..items.len()).find(|k| asks(*k)).or_else(|| {
        let end = items.iter().rposition(|x| !x.is_sign('?'))? + 1;
        items.get(end).map(|_| end)
    })?;
    let start = (cross + 1..end).rev().find(|k| !in_wish(&items[*k]))? + 1;
    let run = items.get(start..end)?;
    let article = run.first().is_some_and(|x| matches!(&*text.folded(x.words.clone()), "a" | "an"));
    let told = items.get(end).is_some_and(|x| !x.is_sign('?')) || article;
    let named = run.iter().any(|x| matches!(x.what, What::Name(_)) || x.role() == Some(Role::Super));
    let pair_told = items[cross + 1..start - 1].iter().any(is_material);
    (told && named && pair_told && breaks(&items[start - 1])).then_some(start)
}

/// "2x pastel" is not a cross.
fn is_twice(items: &[Item], i: usize) -> bool {
    items[i].glued && i > 0 && matches!(items[i - 1].what, What::Number(_))
}

#[expect(clippy::too_many_lines)] // one arm a word: the grammar is easier to check whole
pub(super) fn stretches(items: &[Item], strong: bool, text: &Text) -> Vec<Stretch> {
    let mut out = vec![Stretch { opens: Opens::Plain, items: Vec::new(), ends_possible: false, ends_clutch: false }];
    let open = |out: &mut Vec<Stretch>, opens: Opens| {
        out.push(Stretch { opens, items: Vec::new(), ends_possible: false, ends_clutch: false });
    };
    let wish = trailing_wish(items, text, strong);
    let mut i = 0;
    while i < items.len() {
        if wish == Some(i) {
            open(&mut out, Opens::Target);
        }
        let item = &items[i];
        let here_has = |out: &Vec<Stretch>| out.last().is_some_and(|s| s.items.iter().any(is_material));
        match &item.what {
            What::Word(role) => match role {
                Role::Cross if is_twice(items, i) => push(&mut out, item),
                Role::Cross => {
                    // "pairing with … x": two cross words for one pairing are one.
                    if out.last().is_some_and(|s| s.opens == Opens::Cross && s.items.iter().all(|x| !is_material(x))) {
                        i += 1;
                        continue;
                    }
                    open(&mut out, Opens::Cross);
                }
                // "compare clown x het clown with het clown x het clown"
                Role::To | Role::With | Role::And | Role::Versus if compares(text, items, i) => {
                    open(&mut out, Opens::Versus);
                }
                // "poss super from pastel x pastel, on a clown": the first cross was that of the forebears.
                Role::To | Role::With | Role::Over | Role::On if strong && ends_forebear_pair(&out) => {
                    open(&mut out, Opens::Cross);
                }
                // "… from het x het. to a pied": a sentence that begins with "to" pairs the animal before it.
                Role::To
                    if !here_has(&out)
                        && out.iter().any(|s| s.items.iter().any(is_gene_like))
                        && items[i + 1..].iter().take(2).any(is_material) =>
                {
                    open(&mut out, Opens::Cross);
                }
                Role::To | Role::With | Role::Over | Role::On | Role::Into | Role::And if !strong => {
                    // "dam weighs 1610 and is a pinstripe": the sentence goes on about her.
                    let goes_on = items.get(i + 1).is_some_and(|x| {
                        matches!(
                            &*text.folded(x.words.clone()),
                            "is" | "has"
                                | "was"
                                | "carries"
                                | "also"
                                | "shows"
                                | "weighs"
                                | "weighing"
                                | "wiegt"
                                | "pesa"
                        )
                    });
                    let governs_list = *role == Role::And && (goes_on || !next_opens_animal(items, i + 1));
                    if governs_list || !here_has(&out) {
                        push(&mut out, item);
                    } else {
                        open(&mut out, Opens::Small(*role));
                    }
                }
                // "a stud called Bruno (phantom pied) for my Olga (mojave)"
                Role::For
                    if !strong
                        && out.last().is_some_and(|s| s.items.iter().any(is_gene_like))
                        && items.get(i + 1).is_some_and(|x| text.folded(x.words.clone()) == "my")
                        && items.get(i + 2).is_some_and(|x| x.what == What::Called || is_material(x)) =>
                {
                    open(&mut out, Opens::Small(Role::With));
                }
                // "pied x clown for the double hets": what the pairing is for.
                Role::For
                    if strong
                        && here_has(&out)
                        && !out.last().and_then(|s| s.items.last()).is_some_and(|x| {
                            matches!(x.role(), Some(Role::Het | Role::Double | Role::Triple | Role::Quadruple))
                        })
                        && items.get(i + 1).is_some_and(|x| text.folded(x.words.clone()) == "the")
                        && items[i + 1..].iter().all(|x| x.role() != Some(Role::Cross)) =>
                {
                    open(&mut out, Opens::Target);
                }
                // "out of a clown by a pied"
                Role::By
                    if out.last().is_some_and(|s| s.opens == Opens::From && s.items.iter().any(is_material))
                        || !strong && here_has(&out) =>
                {
                    open(&mut out, Opens::Small(Role::By));
                }
                Role::Versus => open(&mut out, Opens::Versus),
                Role::Or
                    if strong
                        && here_has(&out)
                        && items[i + 1..].iter().any(|x| x.role() == Some(Role::Cross))
                        && items[..i].iter().any(|x| x.role() == Some(Role::Cross)) =>
                {
                    open(&mut out, Opens::Versus);
                }
                // "i want to breed him to my clown": a wish to breed, not for young.
                Role::Target if breeds_next(&items[i + 1..]) => {}
                Role::Target | Role::AtLeastOne | Role::WhyNo | Role::HowMany => open(&mut out, Opens::Target),
                // "is a pied possible from …": the wish stands before the word.
                Role::Can if here_has(&out) && stands_behind(text, item) => {
                    if let Some(last) = out.last_mut() {
                        last.ends_possible = true;
                    }
                    open(&mut out, Opens::Plain);
                }
                Role::Can => open(&mut out, Opens::Target),
                // "from a het clown x clown pairing": the pairing that an animal came from.
                Role::Breed if text.folded(item.words.clone()) == "pairing" && ends_forebear_pair(&out) => {
                    if let Some(last) = out.last_mut() {
                        last.ends_clutch = true;
                    }
                    open(&mut out, Opens::Plain);
                }
                // "odds pied x het": no wish, only a question.
                Role::Odds | Role::Outcomes | Role::Square | Role::Safe | Role::Hets | Role::Question | Role::Breed => {
                    open(&mut out, Opens::Plain);
                }
                Role::From => open(&mut out, Opens::From),
                Role::Mother | Role::Father | Role::Parents | Role::OneParent | Role::Grandparent => {
                    open(&mut out, Opens::Relative(*role));
                    // "his sire", "her mom": the owner's sex goes with the forebear.
                    let owner = |k: usize| match &*text.folded(items[k].words.clone()) {
                        w if w == "his" || w.starts_with("his ") => Some(Role::Male),
                        w if w == "her" || w.starts_with("her ") => Some(Role::Female),
                        _ => None,
                    };
                    if let Some(sex) = owner(i).or_else(|| owner(i.checked_sub(1)?)) {
                        push(&mut out, &Item { what: What::Word(sex), ..item.clone() });
                    }
                }
                Role::Clutches => {
                    if let Some(last) = out.last_mut() {
                        last.ends_clutch = true;
                    }
                    open(&mut out, Opens::Plain);
                }
                Role::Possible
                    if here_has(&out)
                        && !items
                            .get(i + 1)
                            .is_some_and(|x| is_material(x) || matches!(x.what, What::Share(_) | What::Unknown)) =>
                {
                    if let Some(last) = out.last_mut() {
                        last.ends_possible = true;
                    }
                    open(&mut out, Opens::Plain);
                }
                // Filler carries nothing, and keeps the animal around it together.
                Role::Filler => {}
                // "scaleless female normal male", "cryptic girl, clown boy": the sex word closes its animal.
                Role::Male | Role::Female
                    if !strong && !is_pronoun(text, item) && closes_first(&out, item, items, i) =>
                {
                    push(&mut out, item);
                    open(&mut out, Opens::Sex);
                }
                Role::Male | Role::Female
                    if here_has(&out) && (!strong || is_pronoun(text, item)) && opens_second(&out, item, items, i) =>
                {
                    open(&mut out, Opens::Sex);
                    push(&mut out, item);
                }
                // "her mom was a snow so she's het both", "from het x het she looks normal"
                Role::Male | Role::Female if is_pronoun(text, item) && ends_forebears(&out) => {
                    open(&mut out, Opens::Sex);
                    push(&mut out, item);
                }
                _ => push(&mut out, item),
            },
            What::Sexes(..) => {
                if out.last().is_some_and(|s| s.items.iter().any(|x| matches!(x.what, What::Sexes(..)))) {
                    open(&mut out, Opens::Sex);
                }
                push(&mut out, item);
                // "ember 1.0, cyclone 0.1": the mark closes its animal.
                if !strong && trails(&out, &items[i + 1..]) {
                    open(&mut out, Opens::Sex);
                }
            }
            What::Sign('\n') => {
                let next_cross = items.get(i + 1).and_then(Item::role) == Some(Role::Cross);
                let last_cross = out.last().is_some_and(|s| s.items.is_empty());
                if !next_cross && !last_cross {
                    let line = || items[i + 1..].iter().take_while(|x| !x.is_sign('\n'));
                    let sexed = |x: &Item| {
                        matches!(x.what, What::Sexes(..) | What::Called)
                            || matches!(x.role(), Some(Role::Male | Role::Female))
                    };
                    // "sire:\n- pastel\n- enchi": a list under its sex, one gene a line.
                    let lists = !strong
                        && out.last().is_some_and(|s| s.items.iter().any(sexed))
                        && line().any(is_gene_like)
                        && !line().any(sexed);
                    let second_animal = !strong && here_has(&out) && line().any(is_material);
                    if lists {
                        i += 1;
                        continue;
                    }
                    if second_animal {
                        open(&mut out, Opens::Sex);
                    } else if !(strong
                        && items[i + 1..].iter().take_while(|x| !x.is_sign('\n')).any(|x| x.role() == Some(Role::Het))
                        && here_has(&out))
                    {
                        open(&mut out, Opens::Plain);
                    }
                }
            }
            What::Sign(',')
                if out
                    .last()
                    .is_some_and(|s| matches!(s.opens, Opens::Relative(_)) && s.items.iter().any(is_gene_like)) =>
            {
                open(&mut out, Opens::Plain);
            }
            // "Button is a ghost, Domino is a leopard": a name begins another animal.
            What::Sign(',')
                if !strong
                    && here_has(&out)
                    && items.get(i + 1).is_some_and(|x| x.what == What::Called)
                    && out.last().is_some_and(|s| s.items.iter().any(is_gene_like)) =>
            {
                open(&mut out, Opens::Sex);
            }
            // "she is out of a clown by a pied, male is het both": after forebears a sex begins the other animal.
            What::Sign(',')
                if out.last().is_some_and(|s| {
                    matches!(s.opens, Opens::From | Opens::Small(Role::By)) && s.items.iter().any(is_gene_like)
                }) && sex_then_genes(&items[i + 1..]) =>
            {
                open(&mut out, Opens::Sex);
            }
            // "what's better for pieds, banana x pied or …": the wish ends where the pairing begins.
            What::Sign(',')
                if out.last().is_some_and(|s| s.opens == Opens::Target && s.items.iter().any(is_material))
                    && cross_comes_first(&items[i + 1..]) =>
            {
                open(&mut out, Opens::Plain);
            }
            // "1.0 pastel and 0.1 clown - is a pastel clown possible": a dash before a new sentence.
            What::Sign('-' | '\u{2013}' | '\u{2014}')
                if !item.glued
                    && items.get(i + 1).is_some_and(|x| {
                        !x.glued
                            && x.role().is_some_and(|r| {
                                matches!(r, Role::Filler | Role::Question | Role::Can | Role::Odds | Role::Outcomes)
                            })
                    }) =>
            {
                open(&mut out, Opens::Plain);
            }
            // "A) …\nB) …": lettered options are pairings to compare.
            What::Sign(')') if lettered(text, items, i) == Some(false) => {
                out.last_mut().map(|s| s.items.pop());
                if out.iter().any(|s| s.opens == Opens::Cross) {
                    open(&mut out, Opens::Versus);
                }
            }
            What::Sign(')') if lettered(text, items, i) == Some(true) => {
                out.last_mut().map(|s| s.items.pop());
            }
            What::Sign('?' | '!' | ';') => open(&mut out, Opens::Plain),
            What::Sign('.') => {
                // "blk. pastel", "poss. het": a full stop ends something only where a sentence begins.
                let cut_short = i.checked_sub(1).is_some_and(|k| {
                    let typed = text.folded(items[k].words.clone());
                    matches!(
                        &*typed,
                        "weibl" | "mannl" | "maennl" | "mogl" | "moegl" | "poss" | "pos" | "fem" | "m" | "f"
                    )
                });
                let short = i.checked_sub(1).is_some_and(|k| {
                    text.typed(items[k].words.clone()).chars().count() < 4
                        && !matches!(items[k].what, What::Name(_) | What::Sign(_) | What::Number(_))
                        || matches!(items[k].role(), Some(Role::Het | Role::Possible))
                });
                // In "HET. PIED X PIED." a capital begins nothing.
                let shouted = i.checked_sub(1).is_some_and(|k| {
                    let typed = text.typed(items[k].words.clone());
                    items[k].role() == Some(Role::Het) && typed.chars().all(char::is_uppercase)
                });
                let ends = !short
                    || items.get(i + 1).is_none_or(|next| {
                        next.capital && !shouted
                            || next.role().is_some_and(|r| {
                                matches!(r, Role::Question | Role::Outcomes | Role::Odds | Role::Target)
                            })
                    });
                if ends && !cut_short && items.get(i + 1).is_none_or(|next| !next.glued) {
                    open(&mut out, Opens::Plain);
                }
            }
            What::Sign(':' | '=' | '>') => {
                // "male: banana", "sire = clown": the mark belongs to the word before it.
                let labels = out.last().is_some_and(|s| {
                    // "male: banana", "trip het: clown, dg", "5 gene boy: pastel enchi"
                    let opens_list = |x: &Item| {
                        matches!(x.role(), Some(Role::Male | Role::Female | Role::Het))
                            || matches!(x.role(), Some(Role::Double | Role::Triple | Role::Quadruple))
                    };
                    let bare = !s.items.iter().any(|x| matches!(x.what, What::Name(_)));
                    // "0.1 Ziggurat: lesser het albino"
                    let sexed = |x: &Item| {
                        matches!(x.what, What::Sexes(..)) || matches!(x.role(), Some(Role::Male | Role::Female))
                    };
                    bare && (s.items.last().is_some_and(opens_list) || s.items.iter().any(sexed))
                });
                // "goal: pied", "mom = clown": the word before it has opened the stretch already.
                let opened = out
                    .last()
                    .is_some_and(|s| s.items.is_empty() && matches!(s.opens, Opens::Target | Opens::Relative(_)));
                if !labels && !opened {
                    let result = !item.is_sign(':') && here_has(&out);
                    open(&mut out, if result { Opens::Target } else { Opens::Plain });
                }
            }
            _ => push(&mut out, item),
        }
        i += 1;
    }
    out.retain(|s| {
        s.items.iter().any(|x| !matches!(x.what, What::Sign(_)))
            || matches!(s.opens, Opens::Cross | Opens::Versus | Opens::Relative(_))
    });
    out
}

fn push(out: &mut [Stretch], item: &Item) {
    if let Some(last) = out.last_mut() {
        last.items.push(item.clone());
    }
}

pub(super) fn is_gene_like(item: &Item) -> bool {
    matches!(item.what, What::Name(_))
        || item
            .role()
            .is_some_and(|r| matches!(r, Role::Het | Role::Normal | Role::Visual | Role::Double | Role::Triple))
}

/// "compare … x … with … x …": a small word between two crosses of a message that begins with comparing.
fn compares(text: &Text, items: &[Item], i: usize) -> bool {
    let begins = text.words.iter().take(6).any(|word| matches!(&*word.form, "compare" | "vergleiche" | "compara"));
    let crosses = |part: &[Item]| part.iter().any(|x| x.role() == Some(Role::Cross));
    begins && crosses(&items[..i]) && crosses(&items[i + 1..])
}

/// After "and": does a new animal begin (a sex, "my", "a"), or does a list of genes go on?
fn next_opens_animal(items: &[Item], from: usize) -> bool {
    let rest = &items[from.min(items.len())..];
    let first = rest.first();
    let determiner = first.is_some_and(|x| x.role() == Some(Role::Filler));
    let sexed = rest
        .iter()
        .take(6)
        .take_while(|x| !matches!(x.what, What::Sign(',' | '.' | ';')))
        .any(|x| matches!(x.what, What::Sexes(..)) || matches!(x.role(), Some(Role::Male | Role::Female)));
    determiner && rest.iter().any(is_gene_like) || sexed
}

/// A count of sexes behind the genes of its animal, with a comma, genes and another count to come.
fn trails(out: &[Stretch], rest: &[Item]) -> bool {
    let behind = out.last().is_some_and(|s| s.items.first().is_some_and(is_gene_like));
    behind
        && rest.first().is_some_and(|x| x.is_sign(','))
        && rest.get(1).is_some_and(is_gene_like)
        && rest
            .iter()
            .find(|x| matches!(x.what, What::Sexes(..)) || x.role() == Some(Role::Cross))
            .is_some_and(|x| matches!(x.what, What::Sexes(..)))
}

/// A sex word after the genes of a first animal, with genes and a word of the other sex to come before anything else.
fn closes_first(out: &[Stretch], item: &Item, items: &[Item], i: usize) -> bool {
    let Some(last) = out.last() else { return false };
    let sexed = last.items.iter().any(|x| matches!(x.role(), Some(Role::Male | Role::Female)));
    if sexed || !last.items.iter().any(is_gene_like) {
        return false;
    }
    let mut genes = false;
    for next in &items[i + 1..] {
        match &next.what {
            What::Word(Role::Male | Role::Female) => return genes && next.role() != item.role(),
            What::Word(
                Role::Cross
                | Role::To
                | Role::With
                | Role::Over
                | Role::On
                | Role::Into
                | Role::And
                | Role::From
                | Role::Breed,
            ) => return false,
            _ => genes |= is_gene_like(next),
        }
    }
    false
}

/// "male pastel female clown": a sex word of the other sex after genes opens a second animal, unless it closes the first ("clown male").
fn opens_second(out: &[Stretch], item: &Item, items: &[Item], i: usize) -> bool {
    let Some(last) = out.last() else { return false };
    let sexed = last.items.iter().any(|x| {
        matches!(x.role(), Some(Role::Male | Role::Female)) && x.role() != item.role()
            || matches!(x.what, What::Sexes(..))
            // "two het clowns, the boy is also pastel"
            || (x.role() == Some(Role::Pair) || x.what == What::Number(2))
                && !matches!(items[i - 1].what, What::Name(_))
    });
    sexed && last.items.iter().any(is_gene_like) && items[i + 1..].iter().any(is_gene_like)
}

/// A letter or number before this bracket that begins a line; whether it is the first of the options.
fn lettered(text: &Text, items: &[Item], i: usize) -> Option<bool> {
    let letter = i.checked_sub(1)?;
    let heads = letter == 0 || items[letter - 1].is_sign('\n');
    match &*text.folded(items[letter].words.clone()) {
        "a" | "1" if heads => Some(true),
        "b" | "2" if heads => Some(false),
        _ => None,
    }
}

/// "is a galaxy on the cards", "… possible": such words stand behind the wish, "can I", "will it" before it.
fn stands_behind(text: &Text, item: &Item) -> bool {
    let typed = text.folded(item.words.clone());
    ["possible", "on the", "in the", "in there", "doable", "a possib", "feasible", "even possible"]
        .iter()
        .any(|w| typed.starts_with(w))
}

/// "she", "he's": a word that only points at an animal.
pub(super) fn is_pronoun(text: &Text, item: &Item) -> bool {
    matches!(&*text.folded(item.words.clone()), "she" | "he" | "shes" | "hes" | "him")
}

/// Whether the last stretch tells of a forebear, or is the second parent of an animal that is yet to come.
fn ends_forebears(out: &[Stretch]) -> bool {
    let Some(last) = out.last() else { return false };
    if !last.items.iter().any(is_gene_like) {
        return false;
    }
    let behind = out.len().checked_sub(2).map(|k| out[k].opens);
    let first_pair = out[..out.len() - 1].iter().filter(|s| s.items.iter().any(is_material)).count() == 1;
    matches!(last.opens, Opens::Relative(_)) || last.opens == Opens::Cross && behind == Some(Opens::From) && first_pair
}

/// Whether the only cross so far stands between the parents of an animal told before them.
fn ends_forebear_pair(out: &[Stretch]) -> bool {
    let crosses = out.iter().filter(|s| s.opens == Opens::Cross).count();
    // "… out of het x het. pairing her with a pied": what stands between tells no gene.
    let last = out.iter().rposition(|s| s.items.iter().any(is_gene_like)).unwrap_or(0);
    crosses == 1
        && last >= 2
        && out[last].opens == Opens::Cross
        && out[last - 1].opens == Opens::From
        && out[..last - 1].iter().any(|s| s.items.iter().any(is_gene_like))
}

/// Whether a word for breeding is next, small words aside.
fn breeds_next(rest: &[Item]) -> bool {
    rest.iter()
        .find(|x| !matches!(x.role(), Some(Role::Filler | Role::To)))
        .is_some_and(|x| matches!(x.role(), Some(Role::Breed | Role::Cross)))
}

/// Whether a sex and then genes come next.
fn sex_then_genes(rest: &[Item]) -> bool {
    let mut next = rest.iter().filter(|x| x.role() != Some(Role::Filler));
    next.next().is_some_and(|x| matches!(x.role(), Some(Role::Male | Role::Female)))
        && next.next().is_some_and(is_gene_like)
}

/// Whether a cross word comes before any word that opens another wish, a forebear or a question.
fn cross_comes_first(rest: &[Item]) -> bool {
    rest.iter()
        .find_map(|x| match x.role() {
            Some(Role::Cross) => Some(true),
            Some(
                Role::From | Role::Target | Role::Versus | Role::Mother | Role::Father | Role::Odds | Role::Outcomes,
            ) => Some(false),
            _ => matches!(x.what, What::Sign('?' | '.' | '!' | '\n')).then_some(false),
        })
        .unwrap_or(false)
}
