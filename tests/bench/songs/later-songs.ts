import type { Song } from './songs.ts';

const COMMON = { count: 4, unit: 4 };
const JIG = { count: 6, unit: 8 };
const SWANEE = '5:2 -4:.5 4:.5 5:.5 -4:.5 4 7 -6:.5 7:1.5';
const FAR = '6:2 5 4:.5 5:.5 -4:4';
const HOME = '6 6:.5 5:.5 4 -4:.5 -4:.5 4:4';
const TALES = '4 4:.5 -4:.5 5 5:.5 -5:.5 6 -6:.5 6:.5 5:2';

/**
 * Three songs in the public domain that were written down, from memory and mostly with words of this project, after the faults
 * that those of `proof-songs.ts` showed were mended. Written as those of `songs.ts`.
 */
export const LATER_SONGS: readonly Song[] = [
  {
    name: 'old-folks-at-home',
    metre: COMMON,
    pickupBeats: 0,
    tempoBpm: 96,
    verse: [SWANEE, FAR, SWANEE, '6 5:.5 4:.5 -4 -4 4:4', SWANEE, FAR, SWANEE, HOME],
    verses: [
      [
        'Way down up-on the Swa-nee Riv-er',
        'Far far a_-way',
        "There's where my heart is turn-ing ev-er",
        "There's where the old folks stay",
        'All up and down the whole cre-a-tion',
        'Sad-ly I_ roam',
        'Still long-ing for that dear old riv-er',
        'And for the old folks at home',
      ],
      [
        'All round the lit-tle farm I wan-dered',
        'When I was_ young',
        'Then man-y hap-py days I squan-dered',
        'Man-y the songs I sung',
        'When I was play-ing with my broth-er',
        'Hap-py was_ I',
        'Oh take me to my kind old moth-er',
        'There let me live and grow old',
      ],
      [
        'One lit-tle hut a-mong the bush-es',
        'One that I_ love',
        'Still to my mind so sad-ly rush-es',
        'No mat-ter where I rove',
        'When will I see the bees a-hum-ming',
        'All round the_ comb',
        'When will I hear the ban-jo strum-ming',
        'Down in my good old home there',
      ],
    ],
    refrain: {
      tune: ['-7:1.5 7:.5 -8 6 6:1.5 -6:.5 6 6', '7 -6 -5 -6 6:4', SWANEE, HOME],
      words: [
        'All the world is sad and drear-y',
        'Ev-ery-where I roam',
        'Oh broth-ers how my heart grows wear-y',
        'Far from the old folks at home',
      ],
    },
  },
  {
    name: 'long-long-ago',
    metre: COMMON,
    pickupBeats: 0,
    tempoBpm: 92,
    verse: [
      TALES,
      '6 -5:.5 5:.5 -4:2 -5 5:.5 -4:.5 4:2',
      TALES,
      '6 -5:.5 5:.5 -4 5:.5 -4:.5 4:4',
      '6 -5:.5 5:.5 -4 3:.5 3:.5 -5 5:.5 -4:.5 4:2',
      '6 -5:.5 5:.5 -4:2 -5 5:.5 -4:.5 4:2',
      TALES,
      '6 -5:.5 5:.5 -4 5:.5 -4:.5 4:4',
    ],
    verses: [
      [
        'Tell me the tales that to me were so dear',
        'Long long a-go long long a-go',
        'Sing me the songs I de-light-ed to hear',
        'Long long a-go long a-go',
        'Now you are come all my grief is re-moved',
        'Long you were gone so long you roved',
        'Let me be-lieve that you love as you loved',
        'Long long a-go long a-go',
      ],
      [
        'Do you re-mem-ber the path where we met',
        'Long long a-go long long a-go',
        'Ah yes you told me you would not for-get',
        'Long long a-go long a-go',
        'Then to all oth-ers my smile you pre-ferred',
        'Love when you spoke gave charm each word',
        'Still my heart treas-ures the prais-es I heard',
        'Long long a-go long a-go',
      ],
      [
        'Though by your kind-ness my fond hopes were raised',
        'Long long a-go long long a-go',
        'You by more el-o-quent lips have been praised',
        'Long long a-go long a-go',
        'But by long ab-sence your truth has been tried',
        'Still to your voice I list with pride',
        'Blest as I was when I sat by your side',
        'Long long a-go long a-go',
      ],
    ],
  },
  {
    name: 'pop-goes-the-weasel',
    metre: JIG,
    pickupBeats: 0,
    tempoBpm: 84,
    verse: [
      '4 4:.5 -4 -4:.5 5:.5 6:.5 5:.5 4',
      '3:.5 4 4:.5 -4 -4:.5 5:1.5 4',
      '3:.5 4 4:.5 -4 -4:.5 5 5:.5 4:1.5',
      '-6:1.5 -4 -5:.5 5:1.5 4:1.5',
    ],
    verses: [
      [
        'All a-round the mul-ber-ry bush',
        'The mon-key chased the wea-sel',
        "The mon-key thought 'twas all in fun",
        'Pop goes the wea-sel',
      ],
      [
        'A pen-ny for a spool of thread',
        'A pen-ny for a nee-dle',
        "And that's the way the mon-ey goes",
        'Pop goes the wea-sel',
      ],
      [
        'Then up and down the Cit-y Road',
        'And in and out the Ea-gle',
        "For that's the way the mon-ey goes",
        'Pop goes the wea-sel',
      ],
    ],
  },
];
