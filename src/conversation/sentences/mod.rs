//! Questions, assumptions and refusals in words: one place, so that other languages can follow.

pub(super) mod aspects; // questions about a pairing other than its odds
pub(super) mod cautions; // what must be said first
pub(crate) mod keeping; // a keeper's own animals
pub(super) mod odds; // figures of a pairing
pub(super) mod plan; // a plan played out

use super::labels;
use crate::reading::requests::{Assumed, Choice, Intent, Outside, Question, Reading, Unclear};
use crate::reply::{Kind, Reply};
use crate::species::{Catalogue, Species, SpeciesId};

/// A question back, with its readings to choose from.
pub(super) fn question(catalogue: &Catalogue, reading: &Reading, question: &Question) -> Reply {
    let species = reading.species;
    let about = &question.about;
    let lead = match question.kind {
        Unclear::Word => format!("What do you mean by \"{about}\"?"),
        Unclear::Line => format!("Which line is \"{about}\"? Different lines do not match, so it changes the odds."),
        Unclear::HetChance => format!("How sure is \"{about}\"? From het × het it is 66 %, from het × normal 50 %."),
        Unclear::SuperChance => format!("\"{about}\": what were the parents? From two single copies it is 1 in 3."),
        Unclear::UnknownGene => format!("I do not know \"{about}\". Which gene is it?"),
        Unclear::TooManyAlleles => {
            format!("{about} sit at one locus, and an animal has room for two alleles. Which two?")
        }
        Unclear::HetCount => format!("\"{about}\": het for what? Please name the genes."),
        Unclear::WhichParent => format!("Which of the two is to have it ({about})?"),
        Unclear::Siblings => format!("What do the parents of these littermates carry? (\"{about}\")"),
        Unclear::OtherParent if reading.pairing.parents.is_empty() => {
            "Who are the parents? Please name both sides, such as \"het clown x clown\".".to_owned()
        }
        Unclear::OtherParent => format!("Who is the other parent? I read only one side of the pairing (\"{about}\")."),
        Unclear::Sexes => format!("I cannot make one pair of this ({about}). Who is the male, who the female?"),
        Unclear::Species => "Which species is this?".to_owned(),
        Unclear::Twice => format!("\"{about}\" is there twice: two copies, or two animals?"),
        Unclear::NoSuper => format!("What do you mean by \"{about}\"?"),
        Unclear::Limit => format!("That is more than one question can hold: {about}."),
    };
    let choices = question.readings.iter().map(|c| self::choice(catalogue, species, c)).collect();
    Reply { kind: Kind::Question, choices, ..Reply::sentence(lead) }
}

fn choice(catalogue: &Catalogue, species: Option<SpeciesId>, choice: &Choice) -> String {
    match choice {
        Choice::Genes(name, genes) => match species.map(|s| catalogue.get(s)) {
            Some(s) if genes.len() > 1 => format!("{name}: {}", labels::genes(s, genes)),
            _ => name.clone(),
        },
        Choice::Chance(_, _, chance) if *chance == crate::engine::odds::sure() => "sure (100 %)".to_owned(),
        Choice::Chance(_, _, chance) => labels::het_share(chance),
        Choice::Species(s) => catalogue.get(*s).name().to_owned(),
        Choice::OnParent(0, _) => "the first of the two".to_owned(),
        Choice::OnParent(..) => "the second".to_owned(),
        Choice::Words(words) => words.clone(),
    }
}

/// An assumption in words.
pub(crate) fn assumed(catalogue: &Catalogue, species: &Species, assumed: &Assumed) -> String {
    let name = |g| &species.gene(g).entry.name;
    match assumed {
        Assumed::Combo(combo, genes) => format!("{combo} is {}", labels::genes(species, genes)),
        Assumed::Usual(word, genes) => format!("\"{word}\" means {}", labels::genes(species, genes)),
        Assumed::Spelling(typed, right) => format!("\"{typed}\" is {right}"),
        Assumed::HetGoverns(genes) => {
            let names: Vec<&str> = genes.iter().map(|g| name(*g).as_str()).collect();
            format!(
                "het goes for each of {} (say \"visual {}\" if one of them shows)",
                names.join(", "),
                names.last().unwrap_or(&"")
            )
        }
        Assumed::HetShows(g) => {
            format!("\"het {}\" is one copy, which shows: visible genes are not called het", name(*g))
        }
        Assumed::SuperIs(g) if species.gene(*g).is_recessive() => {
            format!("\"super {0}\" is a visual {0}: it has two copies already", name(*g))
        }
        Assumed::SuperIs(g) => format!("two copies of {} look like one", name(*g)),
        Assumed::FirstIsMale => "the first-named is the male".to_owned(),
        Assumed::NoOddsFor(g) => format!("{} is a line-bred look without odds", name(*g)),
        Assumed::Species(id) => format!("this is about {}", catalogue.get(*id).name().to_lowercase()),
        Assumed::FromParents(genes) => {
            let words: Vec<String> = genes
                .iter()
                .map(|c| {
                    format!(
                        "{} {}",
                        if c.chance == crate::engine::odds::sure() {
                            "sure".to_owned()
                        } else {
                            labels::het_share(&c.chance)
                        },
                        species.gene(c.gene).label(c.copies)
                    )
                })
                .collect();
            format!("from its parents the animal is {}", words.join(", "))
        }
        Assumed::SameGene(g) => format!("the gene meant is {}", name(*g)),
        Assumed::LineFits(word, genes) => {
            format!("\"{word}\" is {}, the one this pairing can make", labels::genes(species, genes))
        }
        Assumed::Ratio(a, b) => format!("{a}:{b} is {a} in {}", a + b),
    }
}

/// What the program can do now, on one screen.
pub(super) fn help() -> Reply {
    Reply {
        answer: [
            "Ask for odds the way you would in chat:",
            "  1.0 pastel het clown x 0.1 clown, 7 eggs?",
            "  odds on a clown pied from het clown pied x dh clown pied",
            "  66% het pied girl to my pied, at least one pied in 6 eggs",
            "Then go on: \"and with 9 eggs?\", \"swap them\", \"the first one again\".",
            "Or ask what something means: \"what does 66 het mean\", \"is spider bad\", \"explain dh\".",
        ]
        .map(str::to_owned)
        .to_vec(),
        ..Reply::default()
    }
}

/// Offers to draw an answer that shows more as a picture; left out where it is drawn.
pub(in crate::conversation) const DRAW_IT: &str = "Say \"draw it\" for a picture.";

/// The last answer, as a picture.
pub(super) fn as_picture() -> Reply {
    Reply::sentence("Here it is as a picture.")
}

/// A picture was asked for, and there is nothing yet.
pub(super) fn nothing_to_draw() -> Reply {
    Reply::refusal(
        "There is nothing to draw in the last answer. Ask for the odds of a pairing, a plan or a season, then say \"draw it\".",
    )
}

/// The picture could not be made.
pub(super) fn no_picture_now(error: &crate::reply::picture::PictureError) -> String {
    format!("{error}.")
}

/// One honest sentence on what it cannot do and who can.
pub(super) fn outside(outside: Option<Outside>) -> Reply {
    Reply::refusal(match outside {
        Some(Outside::Illness) => {
            "I cannot judge an animal's health: please ask a reptile vet, soon if it worries you."
        }
        Some(Outside::Dose) => "I give no doses: a reptile vet who sees the animal can.",
        Some(Outside::Price) => {
            "I do not give market prices; breeders around you can. I can give the odds of a pairing."
        }
        Some(Outside::Photo) => "I cannot tell genes from a photo; the breeder's records or a test breeding can.",
        Some(Outside::Law) => "I cannot say what is legal where you live: please ask your local authority.",
        None => {
            "I did not understand that. Ask me for the odds of a pairing, such as \"het clown x clown, 6 eggs?\", or say help."
        }
    })
}

/// A short name of the place, as an assumption.
pub(super) fn stands_for(word: &str, means: &str) -> String {
    format!("\"{word}\" stands for {means} here")
}

/// Kinds of questions that are understood but not answered yet.
pub(super) fn not_yet(intent: Intent) -> Reply {
    if intent == Intent::NextPairing {
        return Reply::refusal(
            "A season is chosen among animals that you keep with me, and here none can be kept. I can give the odds of a pairing: try \"het clown x clown, 6 eggs?\".",
        );
    }
    let what = match intent {
        Intent::Plan => "plan a project",
        Intent::SaveAnimal
        | Intent::ListCollection
        | Intent::RecordWeight
        | Intent::RecordPairing
        | Intent::RecordClutch => "keep a collection",
        Intent::ProveOut => "weigh the evidence of clutches",
        Intent::SeasonCalendar => "work out the dates of a season",
        Intent::Explain => "explain terms",
        Intent::Export | Intent::Forget => "export or erase anything, because nothing you write is kept",
        Intent::NextPairing | Intent::Odds | Intent::Help | Intent::SmallTalk | Intent::Unknown => "do that",
    };
    Reply::refusal(format!(
        "I cannot {what} in this version. I can give the odds of a pairing: try \"het clown x clown, 6 eggs?\"."
    ))
}

/// What a person at a prompt hears instead of silence.
#[must_use]
pub fn heard_nothing() -> Reply {
    Reply::refusal("I heard no question in that. Say \"help\" to see what I answer.")
}

/// The keys of a prompt.
#[must_use]
pub fn terminal_keys() -> String {
    "Here: quit (or Ctrl-D) leaves, Ctrl-C drops a line, a leading blank keeps a line out of the history.".to_owned()
}

/// An answer that is still being worked out after so long.
#[must_use]
pub fn still_working(so_far: std::time::Duration) -> String {
    format!("Still working it out ({} s so far).", so_far.as_secs())
}

/// A message of more bytes than are read.
#[must_use]
pub fn too_long(most: usize) -> Reply {
    let most = format!("{},{:03}", most / 1_000, most % 1_000);
    Reply::refusal(format!(
        "That is too long: I read at most {most} bytes of one message, and this has more. Please send it in parts."
    ))
}

/// Nothing in somebody's message is a word that can be explained.
pub(super) fn no_words_found() -> Reply {
    Reply::refusal("I know no word in that message that wants explaining. /explain takes any word or question.")
}
