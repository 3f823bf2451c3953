"""Families of part numbers, for transistors and diodes whose symbol says nothing.

The registration systems Pro Electron (BC, BS, BU ...), JEITA (2SA to 2SK) and
JEDEC (1N, 2N), and makers' series as their catalogues show them (common
practice, no single source).
"""

from ohmtrail.netanalysis.recognise._kind_tables import Rule, rules

__all__ = ["PART_NUMBERS"]

#: Part numbers, for transistors and diodes whose symbol says nothing.
PART_NUMBERS: tuple[Rule, ...] = rules(
    # IGBT series
    (
        r"^(?:IKW|IKP|IKB|IKD|IGW|IGP|IRG\d|STG[PWFBD]|FGH|FGA|HGTP?|NGT[BGD])",
        "igbt",
        "n-channel",
    ),
    # JEITA: 2SA/2SB PNP, 2SC/2SD NPN, 2SJ P-channel, 2SK N-channel
    (r"^2S[AB]\d", "bipolar", "pnp"),
    (r"^2S[CD]\d", "bipolar", "npn"),
    (r"^2SJ\d", "mosfet", "p-channel"),
    (r"^2SK\d|^SSM3K|^SSM6[NK]", "mosfet", "n-channel"),
    (r"^SSM3J|^SSM6[JP]", "mosfet", "p-channel"),
    # Pro Electron and JEDEC small-signal families
    (
        r"^(?:MMBT|PMBT|[SM]MBT|FMMT|KST|2N|PN|P2N|[SE]?)?(?:3906|2907|5401|4403)A?"
        r"(?![0-9])",
        "bipolar",
        "pnp",
    ),
    (
        r"^(?:MMBT|PMBT|[SM]MBT|FMMT|KST|2N|PN|P2N|[SE]?)?(?:3904|2222|5551|4401)A?"
        r"(?![0-9])",
        "bipolar",
        "npn",
    ),
    (r"^(?:BC(?:8(?:5[6-9]|60|07)|55\d|32\d|W6\d|W29|W30))", "bipolar", "pnp"),
    (r"^(?:BC(?:8(?:4[6-9]|50|17|18)|54\d|33\d|W7\d|W3[1-3]))", "bipolar", "npn"),
    (
        r"^(?:BC|BD|BF|BU[TWXY]?|BCX|BCP|BFR|BFS|MJ[EDL]?|TIP|FZT|FMMT|ZXT[NP]|PBSS|"
        r"MPSA|MMBTA|DT[AC]|PDT[AC]|DDT[AC]|MUN|S[89]0\d\d|SS[89]0\d\d)\d",
        "bipolar",
        "",
    ),
    (r"^(?:PDTC|DTC|DDTC)", "bipolar", "npn"),
    (r"^(?:PDTA|DTA|DDTA)", "bipolar", "pnp"),
    # field-effect transistors
    (
        r"^(?:2N70\d\d|BS170|BSS1(?:23|38)|BSN\d|VN\d|DMN|NTR4003|FDV30[13]N|AO340[0246]|"
        r"IRLML(?:0|2)\d|SI230[02468]|PMV\d+(?:UN|EN|XN))",
        "mosfet",
        "n-channel",
    ),
    (
        r"^(?:BS250|BSS8[34]|BSS223|DMP|NTR4101|FDV30[24]P|AO340[1357]|IRLML[56]\d|"
        r"SI230[1357]|TP0610|PMV\d+(?:UP|EP|XP))",
        "mosfet",
        "p-channel",
    ),
    (r"^(?:IRF[A-Z]*|IRL[A-Z]*)9\d\d\d", "mosfet", "p-channel"),
    (
        r"^(?:IRF|IRL|AUIRF|IP[ABDIPTUWLQC]|BS[CZO]|ISC|ISZ|IAU|IQE|IM[WZB])[A-Z]*\d+",
        "mosfet",
        "",
    ),
    (
        r"^(?:CSD\d|PSMN|BUK\d|PMPB|PH[PBD]\d|PMX|PXN|STP\d|STB\d+N|STD\d|STF\d|STL\d|"
        r"STH\d|STW\d|STN\dN)",
        "mosfet",
        "",
    ),
    (
        r"^(?:AO[DNTEWBL4678]|AON[SRVY]?|AOD|SI[A-Z]?[0-9]{3,4}|SIR[A-Z]?\d|SIS[A-Z]?\d|"
        r"SQ[A-Z]*\d|SU[DMP]\d|SISS|SIDR|SIZ\d)",
        "mosfet",
        "",
    ),
    (
        r"^(?:FD[ABCDGHMNPSUW][A-Z]*\d|FQ[PBDAU]\d|FCP|NT[BDMTPHGKRLSZ][A-Z]*\d|"
        r"NV[MTDBGR][A-Z]*\d|NDS\d|HUF|RFP\d|RFD\d)",
        "mosfet",
        "",
    ),
    (
        r"^(?:TPN|TPH|TPW|TPCC?|TK\d|RJK|HAT\d|UPA\d|R[JQS]\d\d|RQ\dE|NP\d+[A-Z])\d*",
        "mosfet",
        "",
    ),
    (
        r"^(?:ZXM[NPS]|ZVN|ZVP|DMT|DMG|DMC|WNM|WPM|WSD|WSF|HY\d|NCE\d|CJ[A-Z]?\d+|"
        r"LND\d|DN\d|IXF|IXT|EPC\d|GAN\d|GS[6-]\d|C[23]M\d|SCT\d)",
        "mosfet",
        "",
    ),
    # diodes
    (
        r"^(?:S?SM[ABCDFJ]J?|P[46]S?M?[AB]?J?|1\.5KE|[1-5]\.?\d?K[PE]|SA\d|TPSM|SMD?AJ?|"
        r"SMF|5KP|SM[68]T|SLD|Z3SMC|SMC5K|SMBJ|SMCJ|SMAJ|SMDJ)\d+.*[CD]?A?",
        "tvs",
        "",
    ),
    (
        r"^(?:(?:SZ)?ESD|PESD|PRTR|USBLC|TPD\d|SP[03]\d\d|SRV\d|SMF05|IP42|RCLAMP|NUP|"
        r"ESDA|PGB|DF2|D[57]V\d|TVS\b|GSOT|SM[0-3]\d)",
        "tvs",
        "",
    ),
    (
        r"^(?:BZ[XTVGD]|MM[S13B]?Z|1N47\d\d|1N52\d\d|1N53\d\d|PDZ|TDZ|UDZ|DDZ|"
        r"(?:CZ|SZ)?MM\dZ|SMAZ|PLVA|PZU|MTZ)",
        "zener",
        "",
    ),
    (
        r"^(?:BAT|SS\d|SK\d|SB\d|SL\d|B\d\d\d|MBR|PMEG|1N58[12]\d|1N571[12]|1N6263|SR\d|"
        r"RB\d|NRVTS|NRVB|STPS|VS-?\d*[BMT]|VSS|V\d+[PF]|PU3|SD\d\d|SDM|CUS|CDBU?|"
        r"BAS(?:40|70|81|85)|RSX|DSS|DSK|LSM|FSV|SBR)",
        "diode",
        "schottky",
    ),
    (
        r"^(?:1N4\d\d\d|1N914|BA[SVWL]\d|MUR|MURS|ES\d|US\d|RS\d|S\d[A-MB]|UF\d|HER|FR\d|"
        r"STTH|BYV|BYT|M[1-7]$|GS1|LL4|MMBD|MMSD|RHRP|FFS)",
        "diode",
        "",
    ),
)
