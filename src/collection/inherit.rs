//! What young have from their parents and their look, exactly.
//!
//! In: both parents' beliefs and what the keeper sees (and says) of the young. Out: its beliefs, locus by locus.
//! A locus that nothing is said of shows nothing there: the young looks normal, and what it may carry unseen follows by
//! Mendel's rules and the look (het × het, normal-looking: 2/3).
//! Never: clutch-mates. What they show tells of the parents, and is weighed as evidence elsewhere.

use thiserror::Error;

use super::animal::{Basis, Belief, Sex};
use super::genes;
use crate::engine::inheritance::cross::{CrossError, Factor, cross};
use crate::engine::inheritance::genotype::{self, Genotype};
use crate::engine::inheritance::locus::{Genetics, GeneticsError, Locus, LocusId, Sex as EngineSex};
use crate::engine::odds::{none, sure};
use crate::species::Species;
use crate::species::genetics::Sits;

/// Why parents cannot have such young.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum InheritError {
    /// A look or a copy that these parents do not give.
    #[error("these parents cannot give {gene}")]
    NotFromThese {
        /// The gene's name, or that of its locus.
        gene: String,
    },
    /// The engine refuses the parents.
    #[error("these parents cannot be worked out: {0}")]
    Cross(#[from] CrossError),
    /// The catalogue has more sex-linked loci than the engine knows.
    #[error("this species cannot be worked out: {0}")]
    Genetics(#[from] GeneticsError),
}

/// One of the two parents: its beliefs, or nothing known of it (then it counts as wild and what it might give is left out).
#[derive(Debug, Clone, Copy)]
pub struct Parents<'a> {
    /// The father's beliefs.
    pub sire: &'a [Belief],
    /// The mother's beliefs.
    pub dam: &'a [Belief],
}

/// The beliefs of a young animal of known parents. `said` is what the keeper says of it: what shows is seen and counts as
/// such; a sure het is the keeper's word and is kept where the parents can give it; a share is worked out anew. With none
/// its look is not told yet, and it may show whatever its parents can give.
///
/// # Errors
/// [`InheritError`]: what these parents cannot give.
pub fn inherit(
    species: &Species,
    parents: Parents<'_>,
    sex: Sex,
    said: Option<&[Belief]>,
) -> Result<Vec<Belief>, InheritError> {
    let (said, is_told) = (said.unwrap_or_default(), said.is_some());
    // Sex-linked only where it matters and is known on which chromosome the father's copy sits.
    let linked = genes::sits(parents.sire) != Sits::Anywhere;
    let genetics = species.genetics(linked)?;
    let sire = genes::genome(species, parents.sire);
    let dam = genes::genome(species, parents.dam);
    let young = cross(&genetics, &sire, &dam)?;
    let told = genes::genome(species, said);
    let sex = match sex {
        Sex::Male => Some(EngineSex::Male),
        Sex::Female => Some(EngineSex::Female),
        Sex::Unknown => None,
    };
    let mut out: Vec<Belief> = Vec::new();
    let mut loci: Vec<LocusId> = young.factors().iter().map(Factor::id).chain(told.loci().map(|l| l.0)).collect();
    loci.sort_unstable();
    loci.dedup();
    for id in loci {
        let Some(locus) = genetics.locus(id) else { continue };
        let seen = told.get(id);
        let given: Vec<(Genotype, _)> = match young.factor(id) {
            Some(factor) => factor
                .cells()
                .iter()
                .filter(|c| c.sex.is_none() || sex.is_none() || c.sex == sex)
                .map(|c| (c.genotype, c.weight.clone()))
                .collect(),
            // Neither parent lists it: all young are wild there.
            None => vec![(genetics.wild(id, sex.unwrap_or(EngineSex::Female)), sure())],
        };
        out.extend(if is_told {
            at_locus(species, &genetics, id, locus, given, seen)?
        } else {
            let all = genotype::Belief::mix(given)
                .map_err(|_| InheritError::NotFromThese { gene: locus_name(species, id) })?;
            genes::kept(species, id, &all, Basis::Inferred)
        });
    }
    // Looks without a gene are seen, not inherited.
    out.extend(said.iter().filter(|b| species.gene_by_id(&b.gene).is_none_or(|g| species.place(g).is_none())).cloned());
    Ok(out)
}

fn at_locus(
    species: &Species,
    genetics: &Genetics,
    id: LocusId,
    locus: &Locus,
    given: Vec<(Genotype, crate::engine::odds::Odds)>,
    seen: Option<&genotype::Belief>,
) -> Result<Vec<Belief>, InheritError> {
    let not_from_these = || InheritError::NotFromThese { gene: name(species, id, seen) };
    let looks = |g: Genotype| locus.look_of(g).alleles().collect::<Vec<_>>();
    let plain = |g: Genotype| {
        let (a, b) = g.alleles();
        Genotype::pair(a, b)
    };
    // What one can see: the look that all genotypes of the keeper's belief share, normal where nothing is said.
    let wild = genetics.wild(id, EngineSex::Female);
    let mut shown = seen.map_or_else(|| vec![looks(wild)], |b| b.genotypes().map(|(g, _)| looks(g)).collect());
    shown.dedup();
    let mut fitting: Vec<_> = given.into_iter().filter(|(g, _)| shown.contains(&looks(*g))).collect();
    // A sure, unseen copy is the keeper's word: it is kept where these parents can give it.
    let word = seen.and_then(genotype::Belief::known).filter(|g| plain(*g) != plain(wild));
    if let Some(word) = word {
        fitting.retain(|(g, _)| plain(*g) == plain(word) || dominant_alike(locus, *g, word));
    }
    let total: crate::engine::odds::Odds = fitting.iter().map(|f| &f.1).sum();
    if total <= none() {
        return Err(not_from_these());
    }
    let belief =
        genotype::Belief::mix(fitting.into_iter().map(|(g, w)| (g, w / &total))).map_err(|_| not_from_these())?;
    let basis = match word {
        Some(_) if belief.known().is_some() => Basis::Stated,
        _ => Basis::Inferred,
    };
    Ok(genes::kept(species, id, &belief, basis))
}

/// One and two copies of a dominant cannot be told apart by eye, so "pinstripe" is not a word against two copies.
fn dominant_alike(locus: &Locus, a: Genotype, b: Genotype) -> bool {
    let look = |g| locus.look_of(g);
    !look(a).is_wild() && look(a).alleles().eq(look(b).alleles())
}

fn locus_name(species: &Species, id: LocusId) -> String {
    species.loci().get(usize::from(id.0)).map_or_else(String::new, |l| l.name.clone())
}

fn name(species: &Species, id: LocusId, seen: Option<&genotype::Belief>) -> String {
    let here = species.loci().get(usize::from(id.0));
    let said = seen.and_then(|b| {
        b.genotypes().map(|(g, _)| g.alleles()).find_map(|(a, b)| {
            let allele = if b.0 == 0 { a.0 } else { b.0 };
            let copies = u8::from(a.0 == allele) + u8::from(b.0 == allele);
            let gene = here?.genes.get(usize::from(allele).checked_sub(1)?)?;
            Some(species.gene(*gene).label(copies).to_owned())
        })
    });
    said.unwrap_or_else(|| here.map_or_else(String::new, |l| format!("young that look normal at {}", l.name)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Reader;
    use crate::species::Catalogue;

    const UNTOLD: &str = "not told";

    /// The beliefs of a young animal as "clown*2 pastel*1 piebald*1=2/3".
    #[track_caller]
    fn young(sire: &str, dam: &str, sex: Sex, look: &str) -> Result<String, InheritError> {
        let catalogue = Catalogue::builtin().expect("the catalogue is sound");
        let reader = Reader::new(&catalogue).expect("the words are sound");
        let id = catalogue.by_name("ball_python").expect("it is there");
        let species = catalogue.get(id);
        let said = |text: &str| genes::stated(species, &reader.describe(&catalogue, text, Some(id)).animal);
        let (sire, dam) = (said(sire), said(dam));
        let seen = if look.is_empty() || look == UNTOLD { Vec::new() } else { said(look) };
        let told = (look != UNTOLD).then_some(&seen[..]);
        let mut out = inherit(species, Parents { sire: &sire, dam: &dam }, sex, told)?;
        out.sort_by(|a, b| a.gene.cmp(&b.gene).then(a.copies.cmp(&b.copies)));
        Ok(out
            .iter()
            .map(|b| {
                let share = if b.chance == sure() { String::new() } else { format!("={}", b.chance) };
                format!("{}*{}{share}", b.gene, b.copies)
            })
            .collect::<Vec<_>>()
            .join(" "))
    }

    #[test]
    fn a_look_leaves_exact_shares() {
        // Mendel 1866: among the normal-looking of a second generation two in three carry the recessive.
        let check = |sire, dam, look, expected: &str| {
            assert_eq!(young(sire, dam, Sex::Unknown, look), Ok(expected.to_owned()), "{sire} x {dam}: {look:?}");
        };
        check("male het clown", "female het clown", "", "clown*1=2/3");
        check("male het clown", "female het clown", "clown", "clown*2");
        check("male clown", "female normal", "", "clown*1");
        check("male het clown", "female normal", "", "clown*1=1/2");
        check("male 66% het clown", "female clown", "", "clown*1");
        check("male 66% het clown", "female normal", "", "clown*1=1/3");
        check("male pastel het clown", "female clown het pied", "pastel", "clown*1 pastel*1 piebald*1=1/2");
        check("male pastel", "female pastel", "super pastel", "pastel*2");
        // A dominant's second copy cannot be seen: one in three of the visible young has it.
        check("male pinstripe", "female pinstripe", "pinstripe", "pinstripe*1=2/3 pinstripe*2=1/3");
        check("male lesser", "female mojave", "", "");
        // Mendel's quarters, as long as nobody says what it looks like.
        check("male het clown", "female het clown", UNTOLD, "clown*1=1/2 clown*2=1/4");
        check("male clown", "female pastel", UNTOLD, "clown*1 pastel*1=1/2");
        // A share is worked out anew, a sure het is the keeper's word.
        check("male het pied", "female normal", "66% het pied", "piebald*1=1/2");
        check("male het pied", "female normal", "het pied", "piebald*1");
    }

    #[test]
    fn what_parents_cannot_give_is_refused() {
        for (sire, dam, look, gene) in [
            ("male het clown", "female normal", "clown", "Clown"),
            ("male normal", "female normal", "het clown", "het Clown"),
            ("male clown", "female clown", "", "young that look normal at Clown and cryptic"),
            ("male pastel", "female normal", "super pastel", "Super Pastel"),
        ] {
            let error = young(sire, dam, Sex::Unknown, look).expect_err("it cannot be");
            assert_eq!(error.to_string(), format!("these parents cannot give {gene}"), "{sire} x {dam}: {look}");
        }
    }
}
