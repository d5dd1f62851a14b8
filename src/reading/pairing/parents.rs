//! Which stretch is a parent, which a forebear of one, which a wish, and whether they are a pair at all.

use super::Found;
use super::amounts::Asked;
use super::finish::{finish, lean};
use super::stretches::{Opens, Stretch, is_gene_like, is_material, is_pronoun};
use crate::engine::odds::{Odds, odds, sure};
use crate::reading::Reader;
use crate::reading::animals::{Chance, Draft, Parser};
use crate::reading::matching::{Item, What};
use crate::reading::requests::{Assumed, Carried, Question, SexSaid, Unclear};
use crate::reading::vocabulary::Role;
use crate::reading::words::Text;
use crate::species::{GeneId, Species};

#[allow(clippy::too_many_lines)] // the roles of the stretches are decided in one place
pub(super) fn build(
    reader: &Reader,
    species: &Species,
    text: &Text,
    stretches: &[Stretch],
    asked: &Asked,
    strong: bool,
    found: &mut Found,
) {
    let parse = |items: &[Item], which: usize, wish: bool| Parser::new(reader, species, text, which, wish).read(items);
    let mut parents: Vec<Draft> = Vec::new();
    let mut target: Option<Draft> = None;
    let mut second: Vec<Draft> = Vec::new();
    let mut versus = false;
    let mut small: Option<Role> = None;
    let names = |role| stretches.iter().any(|s| s.opens == Opens::Relative(role) && s.items.iter().any(is_gene_like));
    let both_named = names(Role::Mother) && names(Role::Father) && !strong;
    let n = stretches.len();
    let mut skip = 0;
    for (i, stretch) in stretches.iter().enumerate() {
        if skip > 0 {
            skip -= 1;
            continue;
        }
        let crosses_next = stretches.get(i + 1).is_some_and(|s| s.opens == Opens::Cross);
        let small_next = stretches.get(i + 1).and_then(|s| match s.opens {
            Opens::Small(role) => Some(role),
            _ => None,
        });
        match stretch.opens {
            Opens::Versus => {
                if parents.len() >= 2 {
                    versus = true;
                }
                if !stretch.items.iter().any(is_material) {
                    continue;
                }
            }
            // "normal from a clown x het pied clutch": both parents of the animal before.
            Opens::From
                if crosses_next
                    && parents.last().is_some()
                    && (stretches[i + 1].ends_clutch
                        || stretches.get(i + 2).is_some_and(|s| s.opens == Opens::Cross)
                        || parents.len() == 2
                        || stretches[..i].iter().any(|s| s.opens == Opens::Cross)) =>
            {
                let sire = parse(&stretch.items, parents.len() - 1, false);
                let dam = parse(&stretches[i + 1].items, parents.len() - 1, false);
                if let Some(animal) = parents.last_mut() {
                    descend(species, animal, vec![sire, dam], found);
                }
                skip = 1;
                continue;
            }
            // "from het x het she looks normal": the parents are told before their young.
            Opens::From
                if crosses_next
                    && parents.is_empty()
                    && stretches.get(i + 2).is_some_and(|s| s.opens == Opens::Sex)
                    && !stretches[i + 3..].iter().any(|s| s.opens == Opens::From) =>
            {
                let both = vec![parse(&stretch.items, 0, false), parse(&stretches[i + 1].items, 0, false)];
                let mut animal = parse(&stretches[i + 2].items, 0, false);
                descend(species, &mut animal, both, found);
                parents.push(animal);
                skip = 2;
                continue;
            }
            Opens::From if !crosses_next && small_next == Some(Role::By) => {
                // "out of a clown by a pied": dam, then sire.
                let mut dam = parse(&stretch.items, 0, false);
                let mut sire = parse(&stretches[i + 1].items, 1, false);
                dam.animal.sex = SexSaid::Female;
                sire.animal.sex = SexSaid::Male;
                if parents.is_empty() {
                    parents.push(dam);
                    parents.push(sire);
                    found.crossed = true;
                } else if let Some(animal) = parents.last_mut() {
                    descend(species, animal, vec![dam, sire], found);
                }
                skip = 1;
                continue;
            }
            Opens::From
                if !crosses_next
                    && small_next.is_none()
                    && !parents.is_empty()
                    && stretch.items.iter().any(is_gene_like)
                    && !stretch.items.iter().any(|x| matches!(x.what, What::Sexes(..)))
                    && (strong || parents.len() < 2) =>
            {
                let mut both = vec![parse(&stretch.items, parents.len() - 1, false)];
                // "bred to his daughter from a normal": the animal before is her other parent.
                if parents.len() == 2 && parents[1].child {
                    both.insert(0, parents[0].clone());
                }
                if let Some(animal) = parents.last_mut() {
                    animal.child = false;
                    descend(species, animal, both, found);
                }
                continue;
            }
            // "mom is a ghost, dad is an enchi": with nobody else named they are the pair itself.
            Opens::Relative(role @ (Role::Mother | Role::Father)) if both_named => {
                let mut one = parse(&stretch.items, parents.len().min(1), false);
                one.animal.sex = if role == Role::Mother { SexSaid::Female } else { SexSaid::Male };
                if parents.len() < 2 {
                    parents.push(one);
                    found.crossed = true;
                }
                continue;
            }
            Opens::Relative(role) => {
                let one = parse(&stretch.items, parents.len().saturating_sub(1), false);
                if one.has_genes() {
                    if parents.is_empty() {
                        let mut animal = Draft::default();
                        animal.foretold = true;
                        parents.push(animal);
                    }
                    let both = match role {
                        Role::Parents => vec![one.clone(), one],
                        Role::Grandparent => {
                            let mut between = Draft::default();
                            descend(species, &mut between, vec![one], &mut Found::default());
                            vec![between]
                        }
                        _ => vec![one],
                    };
                    if let Some(animal) = parents.last_mut() {
                        descend(species, animal, both, found);
                    }
                } else if one.animal.sex != SexSaid::Unknown && parents.is_empty() {
                    parents.push(one);
                }
                continue;
            }
            _ => {}
        }
        // "chance of a snow with an amel male and an anery female": the pair follows whole.
        let pair_follows = small_next == Some(Role::With)
            && stretches.get(i + 2).is_some_and(|s| matches!(s.opens, Opens::Small(_) | Opens::Sex | Opens::Cross));
        let wish = stretch.opens == Opens::Target && !crosses_next && (small_next.is_none() || pair_follows)
            || stretch.ends_possible && !crosses_next;
        let which = if wish { 2 } else { parents.len().min(1) };
        let draft = parse(&stretch.items, which, wish);
        if wish && (draft.has_genes() || draft.normal || !draft.questions.is_empty()) && (target.is_none()) {
            target = Some(draft);
            continue;
        }
        if let Some(k) = same_animal(&parents, &draft, stretch, text)
            && (!crosses_next || !draft.has_genes() && !draft.normal)
        {
            parents[k].hear_more(draft, species);
            continue;
        }
        // "two het clowns, the boy is also pastel": the pair parts, and one of them has more.
        if parents.len() == 1
            && parents[0].pair
            && draft.animal.sex != SexSaid::Unknown
            && stretch.opens == Opens::Sex
            && parents[0].counts.is_none()
        {
            let mut other = parents[0].alike();
            parents[0].animal.sex = draft.animal.sex;
            other.animal.sex = draft.animal.sex.other();
            parents[0].hear_more(draft, species);
            parents[0].pair = false;
            other.pair = false;
            parents.push(other);
            found.crossed = true;
            continue;
        }
        // "double het? she's het clown and het dg": the question names nobody.
        if draft.promised_hets().is_some() && draft.animal.sex == SexSaid::Unknown && !crosses_next {
            let sexed = |s: &Stretch| s.items.iter().any(|x| matches!(x.role(), Some(Role::Male | Role::Female)));
            if stretch.opens == Opens::Plain && stretches[i + 1..].iter().filter(|s| sexed(s)).count() >= 2 {
                continue;
            }
        }
        // "normal from het x het, bred to a clown": the animal stands before its parents.
        let from_next = stretches.get(i + 1).is_some_and(|s| s.opens == Opens::From)
            && stretches.get(i + 2).is_some_and(|s| s.opens == Opens::Cross)
            && (stretches[i + 2].ends_clutch
                || stretches.get(i + 3).is_some_and(|s| matches!(s.opens, Opens::Cross | Opens::Small(_))));
        // "pastel, poss super, both parents single, x normal": its forebears stand between the animal and the cross.
        let forebears = stretches[i + 1..].iter().take_while(|s| matches!(s.opens, Opens::Relative(_))).count();
        let past_forebears = forebears > 0 && stretches.get(i + 1 + forebears).is_some_and(|s| s.opens == Opens::Cross);
        let beside_cross = from_next
            || past_forebears
            || stretch.opens == Opens::Cross
            || crosses_next
            || matches!(stretch.opens, Opens::Small(_) | Opens::Sex) && !parents.is_empty()
            || small_next.is_some();
        if !draft.has_genes()
            && !draft.normal
            && draft.questions.is_empty()
            && draft.counts.is_none()
            && !(beside_cross && draft.animal.sex != SexSaid::Unknown)
        {
            // A sex alone: "my girl" before "her mom was a pied" or "is out of a clown by a pied".
            if draft.animal.sex != SexSaid::Unknown
                && stretches.get(i + 1).is_some_and(|s| matches!(s.opens, Opens::Relative(_) | Opens::From))
            {
                parents.push(draft);
            } else if crosses_next || stretch.opens == Opens::Cross {
                // "amel x moonshine": the word that should be a gene is named.
                let strange = |x: &&Item| matches!(x.what, What::Unknown | What::English);
                let mut word = stretch.items.iter().filter(strange).map(|x| text.typed(x.words.clone()));
                if let Some(word) = word.rfind(|w| w.chars().count() >= 4) {
                    let about = word.to_owned();
                    found.unread.push(about.clone());
                    found.questions.push(Question {
                        about,
                        kind: Unclear::UnknownGene,
                        readings: Vec::new(),
                        animal: 1,
                    });
                    parents.push(draft);
                }
            }
            continue;
        }
        if let Opens::Small(role) = stretch.opens
            && parents.len() == 1
        {
            small = Some(role);
        }
        if versus {
            second.push(draft);
        } else if parents.len() < 2 && (strong || !draft.animal.said.is_empty() || draft.has_genes()) {
            // In a message with a cross word, animals that stand beside none are remarks, unless they are all there is.
            if strong && !beside_cross && !(draft.has_genes() && draft.animal.sex != SexSaid::Unknown) {
                // "snow conda from albino x axanthic conda, what are the odds": the young stand before their parents.
                let young = (asked.odds || asked.question)
                    && stretches.get(i + 1).is_some_and(|s| s.opens == Opens::From)
                    && stretches.get(i + 2).is_some_and(|s| s.opens == Opens::Cross && !s.ends_clutch);
                if target.is_none() && (stretch.opens == Opens::Target || young) {
                    target = Some(draft);
                } else {
                    found.questions.extend(draft.questions.iter().filter(|q| q.kind == Unclear::UnknownGene).cloned());
                    found.named.extend(draft.named().iter().map(|g| g.0));
                }
                continue;
            }
            parents.push(draft);
        } else if parents.len() == 2
            && target.is_none()
            && draft.has_genes()
            && stretch.opens != Opens::Cross
            && i + 1 == n
            && (asked.odds || asked.question)
            && stretch.opens != Opens::Plain
        {
            target = Some(draft);
        } else if parents.len() == 2 && stretch.opens == Opens::Cross {
            let about = draft.animal.said.clone();
            found.questions.push(Question { about, kind: Unclear::Sexes, readings: Vec::new(), animal: 2 });
        } else if parents.len() == 2
            && target.is_none()
            && draft.has_genes()
            && draft.animal.sex == SexSaid::Unknown
            && stretch.opens == Opens::Plain
            && asked.odds
            && !stretch.items.is_empty()
        {
            target = Some(draft);
        }
    }
    // "a pair of het clowns": both parents alike.
    if parents.len() == 1 && parents[0].pair && (asked.odds || asked.question) {
        let mut other = parents[0].alike();
        // "two condas" may be of any sex, "a pair" has both.
        if !stretches.iter().any(|s| s.items.iter().any(|x| x.what == What::Number(2))) {
            parents[0].animal.sex = SexSaid::Male;
            other.animal.sex = SexSaid::Female;
        }
        parents.push(other);
        found.crossed = true;
    }
    // With a small word alone, a pairing is meant only where breeding or odds are spoken of, or both animals carry a sex.
    let both_sexed = parents.iter().filter(|p| p.animal.sex != SexSaid::Unknown).count() == 2;
    if !strong && !found.crossed && parents.len() == 2 {
        let says_pair = matches!(small, Some(Role::To | Role::With | Role::Over | Role::On | Role::Into));
        let both_gened = parents.iter().all(|p| p.has_genes() || p.normal || !p.questions.is_empty());
        found.crossed =
            asked.breed || asked.odds || both_sexed || asked.question && small.is_some() || says_pair && both_gened;
        if !found.crossed && small.is_none() {
            parents.truncate(1);
        }
        if matches!(small, Some(Role::On | Role::Over)) {
            first_is_male(&mut parents, found);
        }
    } else if strong
        && stretches.iter().any(|s| s.items.iter().any(|x| x.role() == Some(Role::Over)))
        && parents.len() == 2
    {
        first_is_male(&mut parents, found);
    }
    // "sib x sib from my clutch": what their parents carry decides.
    if parents.iter().all(|p| !p.has_genes() && p.questions.is_empty())
        && let Some(word) = stretches.iter().flat_map(|s| &s.items).find(|x| x.role() == Some(Role::Sibling))
        && (asked.odds || asked.question)
    {
        found.crossed = true;
        parents.resize_with(2, Draft::default);
        parents[0].questions.push(Question {
            about: text.typed(word.words.clone()).to_owned(),
            kind: Unclear::Siblings,
            readings: Vec::new(),
            animal: 2,
        });
    }
    if let Some(draft) = &target {
        found.named.extend(draft.named().iter().map(|g| g.0));
    }
    finish(species, parents, target, second, asked, found);
}

/// The animal that a further sentence is about: "he's a clown" where a male without genes stands, "she's het both" after her mother.
fn same_animal(parents: &[Draft], draft: &Draft, stretch: &Stretch, text: &Text) -> Option<usize> {
    let points = stretch.items.iter().any(|x| is_pronoun(text, x));
    let sentence =
        matches!(stretch.opens, Opens::Plain | Opens::Sex) || points && stretch.opens == Opens::Small(Role::And);
    if draft.animal.sex == SexSaid::Unknown || !sentence {
        return None;
    }
    let same = parents.iter().position(|p| {
        p.animal.sex == draft.animal.sex
            && (points || !p.has_genes() && !p.normal && p.questions.is_empty() || parents.len() == 1 && p.foretold)
    });
    same.or_else(|| {
        let last = parents.len().checked_sub(1)?;
        // Only what was told of its forebears is known of it so far.
        let open = parents[last].animal.sex == SexSaid::Unknown;
        // "i own a pied. she will be bred by …": the pronoun alone tells the sex.
        let bare = !draft.has_genes() && !draft.normal && stretch.opens == Opens::Plain;
        (points && open && (parents[last].foretold || bare)).then_some(last)
    })
}

/// "clown over het clown": by custom the male is named first.
fn first_is_male(parents: &mut [Draft], found: &mut Found) {
    if parents.iter().all(|p| p.animal.sex == SexSaid::Unknown) {
        parents[0].animal.sex = SexSaid::Male;
        parents[1].animal.sex = SexSaid::Female;
        found.assumed.push(Assumed::FirstIsMale);
    }
}

/// What an animal carries given its parents, as the look it shows allows: visual parent → sure het, het → half, het × het → two thirds.
fn descend(species: &Species, animal: &mut Draft, parents: Vec<Draft>, found: &mut Found) {
    let mut parents = parents;
    if parents.len() == 2 {
        lean(species, &mut parents);
    }
    let known: Vec<GeneId> = animal.named().iter().map(|g| g.0).collect();
    if let [a, b] = &parents[..] {
        animal.settle_super(|gene| a.named().contains(&(gene, 1)) && b.named().contains(&(gene, 1)));
    }
    let parents: Vec<Vec<Carried>> = parents
        .into_iter()
        .map(|p| {
            found.questions.extend(p.questions.iter().cloned());
            p.into_animal(species).genes
        })
        .collect();
    let mut genes: Vec<GeneId> =
        parents.iter().flatten().map(|c| c.gene).filter(|g| species.gene(*g).is_recessive()).collect();
    genes.sort_unstable();
    genes.dedup();
    let mut told = Vec::new();
    for gene in genes {
        if known.contains(&gene) {
            continue;
        }
        // The chance that each parent hands the allele on, per egg.
        let hands = |p: &Vec<Carried>| {
            p.iter().filter(|c| c.gene == gene).map(|c| &c.chance * odds(i64::from(c.copies), 2)).sum::<Odds>()
        };
        let a = parents.first().map_or_else(|| odds(0, 1), hands);
        let b = parents.get(1).map_or_else(|| odds(0, 1), hands);
        let visual = &a * &b;
        if visual >= sure() {
            animal.carry(gene, 2, Chance::Sure);
            told.push(Carried { gene, copies: 2, chance: sure() });
            continue;
        }
        let one = (&a * (sure() - &b) + &b * (sure() - &a)) / (sure() - visual);
        if one > odds(0, 1) {
            told.push(Carried { gene, copies: 1, chance: one.clone() });
            animal.carry(gene, 1, if one >= sure() { Chance::Sure } else { Chance::Part(one) });
        }
    }
    if !told.is_empty() {
        animal.normal = true;
        found.assumed.push(Assumed::FromParents(told));
    }
}
